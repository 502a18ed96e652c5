"""Statistics that stay honest for three jars and useful for three hundred batches.

Numbers in, frozen results out; nothing here knows a jar, a formula or a screen. Where the numbers
are too few for a result, the result is a `Refusal` with the sentence that says so.
"""
