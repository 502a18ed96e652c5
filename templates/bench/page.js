/* The sheet in the browser: puts the parts together, and hands them what is typed and tapped. */
(() => {
  const { $, all, fill, shown } = Dom;
  const data = JSON.parse($("data").textContent);
  const place = `labbook-sheet-${data.batch}`;
  const keeper = {
    read: () => localStorage.getItem(place),
    write: (text) => localStorage.setItem(place, text),
    remove: () => localStorage.removeItem(place),
  };
  const bench = new Sheet.Bench(data, keeper);

  /* What a part may ask of the others. */
  const page = {
    bench, data, send: () => {},
    refresh: () => refresh(),
    changed: () => { refresh(); page.send(); },
  };
  const lines = Lines(page), vessels = Vessels(page), steps = Steps(page), entries = Entries(page);

  /* Takes what still stands in fields; gives the labels of those that can't be taken. */
  const takeAll = () => {
    const bad = [];
    const take = (field, taker) => {
      if (bench.state.drafts[field.dataset.key ?? field.dataset.value] === undefined) return;
      if (!taker(field)) bad.push(field.labels[0]?.textContent ?? field.id);
    };
    for (const field of all("[data-weigh]")) take(field, lines.take);
    for (const field of all("[data-vessel]")) take(field, vessels.take);
    for (const field of all("[data-value]")) take(field, steps.take);
    return [...bad, ...entries.takeAll()];
  };
  const ending = Finish(page, { takeAll, clearParts: lines.clear });

  const refreshKept = () => {
    const warn = "This browser keeps nothing: finish before you close the page.";
    if (data.post && bench.keeps) return;
    shown($("kept"), !bench.keeps ? warn : bench.begun ? "What you type is kept in this browser." : "");
    $("kept").classList.toggle("warn", !bench.keeps);
  };

  const refresh = () => {
    ending.refresh();
    for (const field of all("[data-key]:not([data-weigh], [data-vessel])")) {
      fill(field, bench.state.drafts[field.dataset.key] ?? "");
    }
    lines.refresh();
    vessels.refresh();
    entries.refresh();
    steps.refresh();
    refreshKept();
  };

  // Binding ----------------------------------------------------------------------------------

  const fieldsInOrder = () => all("input:not([type=checkbox]), textarea")
    .filter((element) => element.offsetParent !== null && !element.closest("details:not([open])"));

  document.addEventListener("input", ({ target }) => {
    const key = target.dataset.key ?? target.dataset.value;
    if (!key) return;
    bench.draft(key, target.value);
    target.dataset.retyped = "yes";
    refreshKept();
  });
  document.addEventListener("change", ({ target }) => {
    if (target.dataset.weigh) lines.take(target);
    else if (target.dataset.vessel) vessels.take(target);
    else if (target.dataset.value) steps.take(target);
    else if (target.dataset.time) steps.timeTyped(target);
    else if (target.dataset.lot) lines.takeLot(target);
    else if (target.dataset.source) lines.takeSource(target);
    else if (target.id === "r-what") entries.chooseReading();
  });
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || !field.matches("input") || event.isComposing) return;
    event.preventDefault();
    const order = fieldsInOrder(), next = order[order.indexOf(field) + 1];
    if (field.dataset.weigh && bench.state.drafts[field.dataset.key] !== undefined) {
      if (!lines.take(field)) return;
      const box = field.closest(".line").querySelector(".slip");
      if (!box.hidden) return void box.focus();
    }
    if (next) next.focus();
    else field.blur();
  });
  document.addEventListener("click", ({ target }) => {
    if (!(target instanceof HTMLButtonElement)) return;
    const { now, holdFrom, portionOf, asTarget } = target.dataset;
    if (now) steps.timeNow(now);
    if (holdFrom) steps.holdFrom(holdFrom);
    if (portionOf) lines.anotherPortion(portionOf);
    if (asTarget) lines.asTarget(asTarget);
  });
  const buttons = { "x-add": entries.addUnforeseen, "r-add": entries.addReading,
    "n-add": entries.addNote, "p-add": entries.addPhoto, finish: ending.finish,
    "f-save": ending.saveFile, "f-copy": ending.copyText, "f-clear": ending.clear };
  for (const [id, action] of Object.entries(buttons)) $(id).addEventListener("click", action);

  addEventListener("storage", (event) => {
    if (event.key !== place) return;
    bench.load();
    refresh();
  });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) steps.tick(); });
  setInterval(steps.tick, 1000);

  if (data.post) {
    page.send = Wire.start(bench, ({ reached, waiting, refused }) => {
      const said = refused ? `Not taken: ${refused}` : !reached
        ? `The computer can't be reached; ${waiting} kept here until it can.`
        : waiting ? `${waiting} on the way to the notebook.` : "All of it is in the notebook.";
      shown($("kept"), said);
    });
  }
  entries.chooseReading();
  refresh();
  page.send();
})();
