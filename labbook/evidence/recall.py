"""A recall list out of a trace: who has jars, which ones are here, and words to send.

It finds and words; whether to call jars back, and whom the law wants told, is for people to decide.
"""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.tracing import Holder, Recall, Trace, TracedJar


def recall(found: Trace, reason: str = "") -> Recall:
    """Who has to be told, which jars are here, and words to send.

    Args:
        found: a trace with its people.
        reason: the maker's own words, which go into the text.
    """
    people: dict[str, list[TracedJar]] = {}
    for jar in found.jars:
        if jar.given:
            people.setdefault(jar.given_to, []).append(jar)
    return Recall(
        trace=found,
        reason=reason,
        holders=tuple(
            Holder(
                name=name,
                jars=tuple(jar.name for jar in own),
                text=contact_text(own, reason),
            )
            for name, own in sorted(people.items())
        ),
        here=tuple(jar for jar in found.jars if not jar.given),
        notice=contact_text([jar for jar in found.jars if jar.given], reason),
    )


def contact_text(jars: Sequence[TracedJar], reason: str = "") -> str:
    """Words to whoever has these jars, without a name of theirs; empty without a jar."""
    if not jars:
        return ""
    products: dict[str, list[str]] = {}
    for jar in jars:
        products.setdefault(jar.product, []).append(jar.name)
    some = "; ".join(f"{name}, marked {', '.join(own)}" for name, own in products.items())
    said = reason.strip().rstrip(".")
    why = f" {said[0].upper()}{said[1:]}." if said else ""
    it, them = ("it", "the jar") if len(jars) == 1 else ("them", "the jars")
    return (
        f"About {some}.{why} Stop using {it} and pass {it} on to nobody. Keep {them} closed and "
        "away from children, and tell me what you have left, so that I can take it back. Don't "
        "open a jar to look or smell. If your skin reacted, keep the jar, and see a doctor if it "
        "lasts."
    )
