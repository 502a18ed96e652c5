/* The sheet in the browser: fields and buttons on one side, `Sheet` on the other. */
(() => {
  const F = Figures;
  const $ = (id) => document.getElementById(id);
  const all = (query) => [...document.querySelectorAll(query)];
  const data = JSON.parse($("data").textContent);
  const place = `labbook-sheet-${data.batch}`;
  const keeper = {
    read: () => localStorage.getItem(place),
    write: (text) => localStorage.setItem(place, text),
    remove: () => localStorage.removeItem(place),
  };
  const bench = new Sheet.Bench(data, keeper);
  let send = () => {};
  let finished = false;

  const made = (tag, text, more = {}) =>
    Object.assign(document.createElement(tag), { textContent: text, ...more });
  /* A box is only filled anew where it says something else: a button that is replaced between
     pressing and letting go would never be clicked. */
  const renew = (box, children) => {
    const signature = children.map((child) => child.textContent).join("\n");
    if (box.dataset.holds === signature) return;
    box.dataset.holds = signature;
    box.replaceChildren(...children);
  };
  const shown = (element, text) => { if (element.textContent !== text) element.textContent = text; };

  // Lines ------------------------------------------------------------------------------------

  const portionField = (line, portion) => {
    const first = $(`w-${line}-0`), id = `w-${line}-${portion}`;
    if ($(id)) return $(id);
    const field = first.cloneNode();
    field.id = id;
    field.dataset.key = `w ${line} ${portion}`;
    field.dataset.portion = portion;
    const row = made("div", "", { className: "entry" });
    const label = made("label", `portion ${portion + 1}`, { htmlFor: id });
    const holder = made("span", "", { className: "with" });
    holder.append(field, made("span", "g", { className: "unit" }));
    row.append(label, holder);
    first.closest(".line").querySelector("[data-portions]").after(row);
    return field;
  };

  const lineState = (line) => {
    const mass = bench.held(line), target = bench.target(line);
    if (mass === null) return "";
    const several = bench.counting(line).length > 1 ? `${bench.shown(mass)} g in all; ` : "";
    if (!target) return several || `${bench.shown(mass)} g`;
    const over = F.cmp(mass, target);
    if (!over) return `${several}as wanted`;
    const apart = bench.shown(over > 0 ? F.sub(mass, target) : F.sub(target, mass));
    return `${several}${apart} g ${over > 0 ? "over" : "to go"}`;
  };

  const slipButtons = (line, found) => {
    const { leaveIt, weighUp, takeOut } = found;
    const button = (choice, text) => {
      const element = made("button", text, { type: "button" });
      element.addEventListener("click", () => settle(line, choice));
      return element;
    };
    const said = [];
    const left = leaveIt.percents
      ? `: ${F.toPlaces(leaveIt.percents.get(line), 2)} % of ${F.toPlaces(leaveIt.size, 2)} g` : "";
    said.push(button("leave", `Leave it${left}`));
    if (weighUp.size !== null) {
      said.push(button("weigh up", `Weigh the rest up to it: ${bench.shown(F.parse(weighUp.size))} g in all`));
      const stuck = [...weighUp.cantFollow, ...weighUp.over];
      if (stuck.length) {
        said.push(made("p", `Can't follow, combined or too much already: ${stuck.join(", ")}. `
          + "The percents shift there."));
      }
    }
    if (takeOut.possible) {
      said.push(button("take out", `I took it out again (${bench.shown(takeOut.mass)} g or more)`));
    } else said.push(made("p", "It is combined already: what is too much can't be taken out."));
    return said;
  };

  const settle = (line, choice) => {
    bench.settle(line, choice);
    if (choice === "take out") {
      const last = all(`[data-weigh="${line}"]`).at(-1);
      last.focus();
      last.select();
    }
    refresh();
    send();
  };

  const refreshLine = (own) => {
    const row = document.querySelector(`[data-line="${own.id}"]`);
    const target = bench.target(own.id);
    shown(row.querySelector("[data-target]"), target ? `${own.moved(target)} g` : "no target");
    row.classList.toggle("done", bench.held(own.id) !== null);
    const state = row.querySelector(".state");
    if (!state.dataset.asks) shown(state, lineState(own.id));
    const found = bench.slip(own.id), box = row.querySelector(".slip");
    box.hidden = !found;
    if (!found) return renew(box, []);
    const told = made("p", `${bench.shown(found.tooMuch)} g over. What now?`, { className: "warn" });
    return renew(box, [told, ...slipButtons(own.id, found)]);
  };

  const refreshTotal = () => {
    const { mass, open } = bench.total();
    const left = open ? `; ${open} of ${data.lines.length} still to weigh` : "; all weighed";
    shown($("size"), bench.size);
    shown($("total"), `${bench.shown(mass)} of ${bench.shown(F.parse(bench.size))} g${left}`);
  };

  // Lists ------------------------------------------------------------------------------------

  const words = (e) => {
    if (e.kind === "weighed") {
      const name = data.lines.find((line) => line.id === e.line).ingredient;
      return `${name} ${e.grams} g`;
    }
    if (e.kind === "added") return `${e.name} ${e.grams} g${e.phase ? `, phase ${e.phase}` : ""}`;
    if (e.kind === "reading") {
      const said = e.seen || `${e.value} ${e.unit}`.trim();
      return `${e.reading} ${said}${e.of ? ` of the ${e.of}` : ""}`;
    }
    if (e.kind === "photo") return `photo ${e.text}${e.of ? `: ${e.of}` : ""}`;
    return e.kind === "deviation" ? `differed: ${e.text}` : e.text;
  };

  const refreshList = (id, kinds) => {
    const items = bench.state.entries.filter((e) => kinds.includes(e.kind)
      && (e.kind !== "weighed" || e.struck));
    renew($(id), items.map((e) => {
      const item = made("li", `${words(e)}, ${e.at.slice(11, 16)}${e.struck ? `; ${e.struck}` : ""}`);
      item.classList.toggle("struck", Boolean(e.struck));
      if (!e.struck && ["added", "reading"].includes(e.kind)) {
        const button = made("button", "Strike", { type: "button" });
        button.setAttribute("aria-label", `Strike ${words(e)}`);
        button.addEventListener("click", () => {
          bench.strike(e.id, "struck on the sheet");
          refresh();
          send();
        });
        item.append(" ", button);
      }
      return item;
    }));
  };

  // Times ------------------------------------------------------------------------------------

  const clock = (iso) => iso.slice(11, 16);
  const hhmm = (milliseconds) => clock(Sheet.moment(new Date(milliseconds)));
  const left = (milliseconds) => {
    const seconds = Math.ceil(milliseconds / 1000);
    return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  };

  /* Each span ends at a clock time reckoned from its start: a locked screen loses nothing. */
  const timer = (step) => {
    const started = bench.value(`step ${step.id}|started`);
    const said = [];
    let from = Date.parse(started);
    for (const span of step.spans) {
      if (span.from === "hold") from = Date.parse(bench.state.reached[step.id] || "");
      if (Number.isNaN(from)) break;
      const end = from + span.seconds * 1000, now = Date.now();
      const state = now < end ? `${left(end - now)} left` : "over";
      said.push(`${span.words} until ${hhmm(end)}: ${state}`);
      from = end;
    }
    return bench.value(`step ${step.id}|ended`) ? "" : said.join("; ");
  };
  const tick = () => {
    for (const step of data.steps) {
      shown(document.querySelector(`[data-timer="${step.id}"]`), timer(step));
    }
  };

  /* A clock time typed for a step: today, or yesterday where today's has not come yet. */
  const typedTime = (text) => {
    const [hours, minutes] = text.split(":").map(Number);
    const date = new Date();
    date.setHours(hours, minutes, 0, 0);
    if (date.getTime() > Date.now() + 3600000) date.setDate(date.getDate() - 1);
    return Sheet.moment(date);
  };

  const held = (step) => {
    const from = bench.state.reached[step], place_ = `step ${step}|hold`;
    if (!from || bench.value(place_)) return;
    const minutes = Math.round((Date.now() - Date.parse(from)) / 60000);
    if (minutes > 0) bench.put(place_, `${minutes} min`);
  };

  // Refreshing -------------------------------------------------------------------------------

  const fill = (field, text) => {
    if (field !== document.activeElement && field.value !== text) field.value = text;
  };

  const refreshFields = () => {
    for (const line of data.lines) {
      const last = Math.max(0, bench.state.portions[line.id] || 0,
        ...bench.counting(line.id).map((entry) => entry.portion));
      for (let portion = 1; portion <= last; portion += 1) portionField(line.id, portion);
    }
    for (const field of all("[data-weigh]")) {
      const { key, weigh, portion } = field.dataset;
      fill(field, bench.state.drafts[key] ?? bench.at(weigh, Number(portion))?.grams ?? "");
    }
    for (const field of all("[data-key]:not([data-weigh])")) {
      fill(field, bench.state.drafts[field.dataset.key] ?? "");
    }
    for (const field of all("[data-value]")) {
      const key = field.dataset.value, unit = field.dataset.unit;
      const text = bench.value(key);
      fill(field, bench.state.drafts[key] ?? (unit && text.endsWith(unit)
        ? text.slice(0, -unit.length).trim() : text));
    }
    for (const field of all("[data-time]")) {
      fill(field, clock(bench.value(field.dataset.time)));
      shown(field.nextElementSibling, field.value); // for paper
    }
    for (const field of all("[data-lot]")) fill(field, bench.lot(field.dataset.lot));
  };

  const refreshKept = () => {
    const warn = "This browser keeps nothing: finish before you close the page.";
    if (data.post && bench.keeps) return;
    shown($("kept"), !bench.keeps ? warn : bench.begun ? "What you type is kept in this browser." : "");
    $("kept").classList.toggle("warn", !bench.keeps);
  };

  const refresh = () => {
    if (finished) unfinish();
    refreshFields();
    for (const line of data.lines) refreshLine({ ...line, moved: (target) => digits(line, target) });
    refreshTotal();
    refreshList("added", ["added", "weighed"]);
    refreshList("readings", ["reading"]);
    refreshList("notes", ["note", "deviation", "photo"]);
    refreshKept();
    tick();
  };

  /* A target with the digits of the notebook, as long as it is the notebook's. */
  const digits = (line, target) =>
    line.target !== null && !F.cmp(F.parse(line.target), target) ? line.target : bench.shown(target);

  // Taking what is typed ---------------------------------------------------------------------

  const takeWeight = (field, sure = false) => {
    const { weigh, portion, key } = field.dataset;
    const row = field.closest(".line"), state = row.querySelector(".state");
    const again = field.dataset.retyped === "yes" && field.dataset.doubted === field.value;
    const found = bench.weigh(weigh, Number(portion), field.value, { sure: sure || again });
    const said = found.wrong || found.doubt || "";
    field.setAttribute("aria-invalid", String(Boolean(said)));
    state.classList.toggle("wrong", Boolean(said));
    field.dataset.doubted = found.doubt ? field.value : "";
    field.dataset.retyped = "no";
    if (said) {
      state.dataset.asks = "yes";
      const button = made("button", "It is so", { type: "button" });
      button.addEventListener("click", () => takeWeight(field, true));
      renew(state, [made("span", `${said} `), ...(found.doubt ? [button] : [])]);
      bench.draft(key, field.value);
    } else {
      delete state.dataset.asks;
      renew(state, []);
    }
    refresh();
    if (found.taken) send();
    return !said;
  };

  const wrongAt = (field, text) => {
    const owner = field.closest("[data-step]")?.dataset.step ?? "room";
    shown(document.querySelector(`[data-wrong="${owner}"]`), text);
    field.setAttribute("aria-invalid", String(Boolean(text)));
  };

  const takeValue = (field) => {
    const { value: key, kind, unit } = field.dataset;
    const typed = field.value.trim();
    const numeric = kind !== "text";
    const good = !typed || !numeric || /^-?[0-9]{1,9}([.,][0-9]{1,9})?$/.test(typed);
    wrongAt(field, good ? "" : `${typed} is not a number${unit ? ` of ${unit}` : ""}.`);
    if (!good) return false;
    const number = typed.replace(",", ".");
    bench.put(key, numeric && number ? `${number}${unit === "%" ? "" : " "}${unit}` : typed);
    refresh();
    send();
    return true;
  };

  const takeTime = (key, iso) => {
    bench.put(key, iso);
    const [step, end] = key.slice(5).split("|");
    if (end === "ended") held(step);
    refresh();
    send();
  };

  const emptied = (...ids) => {
    for (const id of ids) {
      delete bench.state.drafts[$(id).dataset.key];
      $(id).value = "";
    }
    bench.save();
    refresh();
    send();
  };

  const addUnforeseen = () => {
    const name = $("x-name").value.trim().toLowerCase().replace(/\s+/g, "-");
    const grams = F.parse($("x-grams").value.trim());
    const named = /^[\p{L}\p{N}][\p{L}\p{N}_.+-]{0,99}$/u.test(name);
    const said = !named ? "What went in? A name of letters, digits and hyphens."
      : grams === null ? "How much? Write grams, like 1.20" : "";
    shown($("x-wrong"), said);
    if (said) return false;
    bench._add("added", { name, grams: $("x-grams").value.trim().replace(",", "."),
      phase: $("x-phase").value });
    emptied("x-name", "x-grams");
    return true;
  };

  const addReading = () => {
    const what = $("r-what"), name = what.value, isType = name === "emulsion type";
    const typed = $("r-value").value.trim(), at = $("r-at").value.trim();
    const number = /^-?[0-9]{1,9}([.,][0-9]{1,9})?$/;
    const said = !isType && !number.test(typed) ? "Write the figure, like 5.40"
      : at && !number.test(at) ? "Write the temperature as a number" : "";
    shown($("r-wrong"), said);
    if (said) return false;
    bench._add("reading", {
      reading: name, of: $("r-of").value, by: $("r-by").value.trim(),
      temperature: at ? `${at.replace(",", ".")} °C` : "",
      ...(isType ? { seen: $("r-seen").value }
        : { value: typed.replace(",", "."), unit: what.selectedOptions[0].dataset.unit }),
    });
    emptied("r-value", "r-at", "r-by");
    return true;
  };

  const addNote = () => {
    const text = $("n-text").value.trim();
    if (!text) return false;
    bench._add($("n-differs").checked ? "deviation" : "note", { text });
    $("n-differs").checked = false;
    emptied("n-text");
    return true;
  };

  const addPhoto = () => {
    const text = $("p-name").value.trim();
    if (!text) return false;
    bench._add("photo", { text, of: $("p-of").value.trim() });
    emptied("p-name", "p-of");
    return true;
  };

  const chooseReading = () => {
    const isType = $("r-what").value === "emulsion type";
    $("r-figure").hidden = isType;
    $("r-type").hidden = !isType;
    shown($("r-unit"), $("r-what").selectedOptions[0].dataset.unit);
  };

  // Finishing --------------------------------------------------------------------------------

  /* Takes what still stands in fields; gives the labels of those that can't be taken. */
  const takeAll = () => {
    const bad = [];
    const label = (field) => field.labels[0]?.textContent ?? field.id;
    const take = (field, taker) => {
      if (bench.state.drafts[field.dataset.key ?? field.dataset.value] === undefined) return;
      if (!taker(field)) bad.push(label(field));
    };
    for (const field of all("[data-weigh]")) take(field, takeWeight);
    for (const field of all("[data-value]")) take(field, takeValue);
    if (($("x-name").value || $("x-grams").value) && !addUnforeseen()) bad.push("What went in");
    if (($("r-value").value || $("r-at").value) && !addReading()) bad.push("Figure");
    addNote();
    addPhoto();
    return bad;
  };

  const unfinish = () => {
    finished = false;
    $("finished").hidden = true;
  };

  const finish = () => {
    const bad = takeAll();
    shown($("f-wrong"), bad.length
      ? `Not finished. Look again at: ${bad.join("; ")}. Mend or empty it.` : "");
    if (bad.length) return;
    shown($("f-said"), "");
    shown($("f-cleared"), "");
    $("f-text").value = bench.text();
    $("finished").hidden = false;
    finished = true;
    $("f-save").focus();
  };

  const saveFile = () => {
    const text = $("f-text").value;
    const url = URL.createObjectURL(new Blob([text], { type: "text/plain" }));
    const link = made("a", "", { href: url, download: `${data.batch}-sheet.txt` });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(url), 60000);
    bench.sent(bench.items());
    shown($("f-said"), `${data.batch}-sheet.txt: look whether it is where your files go. `
      + "Then clear this browser.");
  };

  const copyText = async () => {
    try {
      await navigator.clipboard.writeText($("f-text").value);
      shown($("f-said"), "Copied. Paste it into a file or a message to yourself.");
    } catch {
      $("f-text").focus();
      $("f-text").select();
      shown($("f-said"), "Marked: copy it with the browser's own menu.");
    }
    bench.sent(bench.items());
  };

  const clear = () => {
    bench.clear();
    for (const field of all("input, textarea")) {
      if (field.type === "checkbox") field.checked = false;
      else field.value = "";
    }
    $("f-text").value = "";
    for (const row of all("[data-portions] ~ .entry")) {
      if (row.querySelector("[data-weigh]")) row.remove();
    }
    refresh();
    unfinish();
    shown($("f-cleared"), `Nothing of ${data.batch} is left in this browser but this page; close it.`);
  };

  // Binding ----------------------------------------------------------------------------------

  const fieldsInOrder = () => all("input, select, textarea, button").filter((element) =>
    element.matches("input:not([type=checkbox]), textarea") && element.offsetParent !== null);

  document.addEventListener("input", ({ target }) => {
    const key = target.dataset.key ?? target.dataset.value;
    if (!key) return;
    bench.draft(key, target.value);
    target.dataset.retyped = "yes";
    refreshKept();
  });
  document.addEventListener("change", ({ target }) => {
    if (target.dataset.weigh) takeWeight(target);
    else if (target.dataset.value) takeValue(target);
    else if (target.dataset.time && target.value) takeTime(target.dataset.time, typedTime(target.value));
    else if (target.dataset.lot) {
      bench.setLot(target.dataset.lot, target.value);
      refresh();
      send();
    } else if (target.id === "r-what") chooseReading();
  });
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || !field.matches("input") || event.isComposing) return;
    event.preventDefault();
    const order = fieldsInOrder(), next = order[order.indexOf(field) + 1];
    if (field.dataset.weigh && bench.state.drafts[field.dataset.key] !== undefined) {
      if (!takeWeight(field)) return;
      const box = field.closest(".line").querySelector(".slip");
      if (!box.hidden) return void box.focus();
    }
    if (next) next.focus();
    else field.blur();
  });
  document.addEventListener("click", ({ target }) => {
    if (!(target instanceof HTMLButtonElement)) return;
    const { now, holdFrom, portionOf, asTarget } = target.dataset;
    if (now) takeTime(now, Sheet.moment(new Date()));
    if (holdFrom) {
      bench.state.reached[holdFrom] = Sheet.moment(new Date());
      bench.save();
      refresh();
    }
    if (portionOf) {
      const next = Math.max(0, ...all(`[data-weigh="${portionOf}"]`).map((f) =>
        Number(f.dataset.portion))) + 1;
      bench.state.portions[portionOf] = next;
      bench.save();
      portionField(portionOf, next).focus();
    }
    if (asTarget) {
      bench.weigh(asTarget, 0, digits(data.lines.find((l) => l.id === asTarget),
        bench.target(asTarget)), { asTarget: true });
      refresh();
      send();
    }
  });
  const buttons = { "x-add": addUnforeseen, "r-add": addReading, "n-add": addNote,
    "p-add": addPhoto, finish, "f-save": saveFile, "f-copy": copyText, "f-clear": clear };
  for (const [id, action] of Object.entries(buttons)) $(id).addEventListener("click", action);

  addEventListener("storage", (event) => {
    if (event.key !== place) return;
    bench.load();
    refresh();
  });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) tick(); });
  setInterval(tick, 1000);

  if (data.post) {
    send = Wire.start(bench, ({ reached, waiting, refused }) => {
      const said = refused ? `Not taken: ${refused}` : !reached
        ? `The computer can't be reached; ${waiting} kept here until it can.`
        : waiting ? `${waiting} on the way to the notebook.` : "All of it is in the notebook.";
      shown($("kept"), said);
    });
  }
  chooseReading();
  refresh();
  send();
})();
