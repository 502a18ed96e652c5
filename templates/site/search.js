"use strict";
// Search without a server: the index is a script beside this page, written by the same build.
(() => {
  const index = window.journalIndex;
  const place = document.getElementById("search");
  if (!index || !place) return;

  // As the words of the index were folded: without accents, small, letters and figures alone.
  const fold = (text) =>
    text.normalize("NFKD").replace(/\p{M}+/gu, "").toLowerCase().replace(/ß/g, "ss");
  const LONGEST = 40;
  const words = (text) =>
    (fold(text).match(/[\p{L}\p{N}]+/gu) || []).map((word) => [...word].slice(0, LONGEST).join(""));

  const field = document.createElement("input");
  field.id = "words";
  field.type = "search";
  field.autocomplete = "off";
  const label = document.createElement("label");
  label.htmlFor = "words";
  label.textContent = "words ";
  const line = document.createElement("p");
  line.className = "make";
  line.append(label, field);
  const said = document.createElement("p");
  said.setAttribute("role", "status");
  const list = document.createElement("ul");
  const without = place.nextElementSibling;
  place.after(line, said, list);
  if (without) without.remove();

  // Pages that hold a word with that beginning.
  const holding = (beginning) => {
    const found = new Set();
    let low = 0;
    let high = index.words.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (index.words[middle] < beginning) low = middle + 1;
      else high = middle;
    }
    for (; low < index.words.length && index.words[low].startsWith(beginning); low += 1) {
      let page = 0;
      for (const step of index.pages[low]) found.add((page += step));
    }
    return found;
  };

  const MOST = 50;
  const show = () => {
    const wanted = words(field.value);
    list.replaceChildren();
    if (!wanted.length) {
      said.textContent = "";
      return;
    }
    const sets = wanted.map(holding);
    const hits = [...sets[0]].filter((page) => sets.every((set) => set.has(page)));
    const named = (page) => wanted.every((word) => fold(index.found[page][1]).includes(word));
    hits.sort((a, b) => Number(named(b)) - Number(named(a)) || a - b);
    for (const page of hits.slice(0, MOST)) {
      const [path, title, note] = index.found[page];
      const link = document.createElement("a");
      link.href = path + ".html";
      link.textContent = title;
      const item = document.createElement("li");
      item.append(link, note ? `, ${note}` : "");
      list.append(item);
    }
    const count = hits.length === 1 ? "1 page" : `${hits.length} pages`;
    const most = hits.length > MOST ? `; the first ${MOST} are shown` : "";
    said.textContent = hits.length ? count + most : "No page has all of these words.";
  };
  field.addEventListener("input", show);
  field.focus();
})();
