/* What is added under a heading: things no line foresaw, readings, notes, names of photos. */
const Entries = (page) => {
  const { bench, data } = page;
  const { $, made, renew, shown, isNumber, pointed } = Dom;

  const words = (e) => {
    if (e.kind === "weighed") {
      return `${data.lines.find((line) => line.id === e.line).ingredient} ${e.grams} g`;
    }
    if (e.kind === "added") return `${e.name} ${e.grams} g${e.phase ? `, phase ${e.phase}` : ""}`;
    if (e.kind === "reading") {
      const said = e.seen || `${e.value} ${e.unit}`.trim();
      const of = e.turn === undefined || e.of === "pot" ? `the ${e.of}` : `vessel ${e.of}`;
      return `${e.reading} ${said}${e.of ? ` of ${of}` : ""}`;
    }
    if (e.kind === "photo") return `photo ${e.text}${e.of ? `: ${e.of}` : ""}`;
    return e.kind === "deviation" ? `differed: ${e.text}` : e.text;
  };

  const strikeButton = (e) => {
    const button = made("button", "Strike", { type: "button" });
    button.setAttribute("aria-label", `Strike ${words(e)}`);
    button.addEventListener("click", () => {
      bench.strike(e.id, "struck on the sheet");
      page.changed();
    });
    return button;
  };

  const refreshList = (id, listed) => {
    renew($(id), bench.state.entries.filter(listed).map((e) => {
      const item = made("li", `${words(e)}, ${e.at.slice(11, 16)}${e.struck ? `; ${e.struck}` : ""}`);
      item.classList.toggle("struck", Boolean(e.struck));
      if (!e.struck && ["added", "reading"].includes(e.kind)) item.append(" ", strikeButton(e));
      return item;
    }));
  };

  const refresh = () => {
    refreshList("added", (e) => e.kind === "added" || (e.kind === "weighed" && e.struck));
    // Those of vessels stand in their own fields; here only what was struck of them.
    refreshList("readings", (e) => e.kind === "reading" && (e.turn === undefined || e.struck));
    refreshList("notes", (e) => ["note", "deviation", "photo"].includes(e.kind));
  };

  // Adding: true where nothing is left in the fields --------------------------------------------

  const emptied = (...ids) => {
    for (const id of ids) {
      delete bench.state.drafts[$(id).dataset.key];
      $(id).value = "";
    }
    bench.save();
    page.changed();
    return true;
  };

  const addUnforeseen = () => {
    const name = $("x-name").value.trim().toLowerCase().replace(/\s+/g, "-");
    const grams = $("x-grams").value.trim();
    const named = /^[\p{L}\p{N}][\p{L}\p{N}_.+-]{0,99}$/u.test(name);
    const said = !named ? "What went in? A name of letters, digits and hyphens."
      : Figures.parse(grams) === null ? "How much? Write grams, like 1.20" : "";
    shown($("x-wrong"), said);
    if (said) return false;
    bench.add("added", { name, grams: pointed(grams), phase: $("x-phase").value });
    return emptied("x-name", "x-grams");
  };

  const addReading = () => {
    const what = $("r-what"), name = what.value, isType = name === "emulsion type";
    const typed = $("r-value").value.trim(), at = $("r-at").value.trim();
    const said = !isType && !isNumber(typed) ? "Write the figure, like 5.40"
      : at && !isNumber(at) ? "Write the temperature as a number" : "";
    shown($("r-wrong"), said);
    if (said) return false;
    bench.add("reading", {
      reading: name, of: $("r-of").value, by: $("r-by").value.trim(),
      temperature: at ? `${pointed(at)} °C` : "",
      ...(isType ? { seen: $("r-seen").value }
        : { value: pointed(typed), unit: what.selectedOptions[0].dataset.unit }),
    });
    return emptied("r-value", "r-at", "r-by");
  };

  const addNote = () => {
    const text = $("n-text").value.trim();
    if (!text) return false;
    bench.add($("n-differs").checked ? "deviation" : "note", { text });
    $("n-differs").checked = false;
    return emptied("n-text");
  };

  const addPhoto = () => {
    const text = $("p-name").value.trim();
    if (!text) return false;
    bench.add("photo", { text, of: $("p-of").value.trim() });
    return emptied("p-name", "p-of");
  };

  /* Takes what still stands in the fields; gives the names of those that can't be taken. */
  const takeAll = () => {
    const bad = [];
    if (($("x-name").value || $("x-grams").value) && !addUnforeseen()) bad.push("What went in");
    if (($("r-value").value || $("r-at").value) && !addReading()) bad.push("Figure");
    addNote();
    addPhoto();
    return bad;
  };

  const chooseReading = () => {
    const isType = $("r-what").value === "emulsion type";
    $("r-figure").hidden = isType;
    $("r-type").hidden = !isType;
    shown($("r-unit"), $("r-what").selectedOptions[0].dataset.unit);
  };

  return { refresh, addUnforeseen, addReading, addNote, addPhoto, takeAll, chooseReading };
};
