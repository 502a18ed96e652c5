/* The lines that are weighed: what a line lacks or has too much of, its portions, its pack. */
const Lines = (page) => {
  const { bench, data } = page;
  const { $, all, made, renew, shown, fill, wrong } = Dom;
  const F = Figures;

  /* A target with the digits of the notebook, as long as it is the notebook's. */
  const digits = (line, target) =>
    line.target !== null && !F.cmp(F.parse(line.target), target) ? line.target : bench.shown(target);

  const portionField = (line, portion) => {
    const first = $(`w-${line}-0`), id = `w-${line}-${portion}`;
    if ($(id)) return $(id);
    const field = first.cloneNode();
    field.id = id;
    field.dataset.key = `w ${line} ${portion}`;
    field.dataset.portion = portion;
    const row = made("div", "", { className: "entry" });
    const label = first.labels[0].cloneNode(true);
    label.htmlFor = id;
    label.lastChild.data = `portion ${portion + 1}`;
    const holder = made("span", "", { className: "with" });
    holder.append(field, made("span", "g", { className: "unit" }));
    row.append(label, holder);
    first.closest(".line").querySelector("[data-portions]").after(row);
    return field;
  };

  const anotherPortion = (line) => {
    const next = Math.max(...all(`[data-weigh="${line}"]`).map((f) => Number(f.dataset.portion))) + 1;
    bench.state.portions[line] = next;
    bench.save();
    portionField(line, next).focus();
  };

  // Showing ----------------------------------------------------------------------------------

  const ofPremix = (line) => {
    const raw = bench.held(line), needed = bench.needed(line);
    if (raw !== null) return `${bench.shown(raw)} g, in part of a premix; `;
    return needed ? `${bench.shown(needed)} g of the premix hold it` : "";
  };

  const stateOf = (line) => {
    const mass = bench.ofItself(line), target = bench.target(line);
    const mixed = bench.source(line) || bench.isMixed(line);
    if (mass === null) return mixed ? ofPremix(line) : "";
    const several = mixed ? `${ofPremix(line)}${bench.shown(mass)} g of the ingredient itself, `
      : bench.counting(line).length > 1 ? `${bench.shown(mass)} g in all; ` : "";
    if (!target) return several || `${bench.shown(mass)} g`;
    const over = F.cmp(mass, target);
    if (!over) return `${several}as wanted`;
    const apart = bench.shown(over > 0 ? F.sub(mass, target) : F.sub(target, mass));
    return `${several}${apart} g ${over > 0 ? "over" : "to go"}`;
  };

  const slipButtons = (line, { leaveIt, weighUp, takeOut, mixed }) => {
    const button = (choice, text) => {
      const element = made("button", text, { type: "button" });
      element.addEventListener("click", () => settle(line, choice));
      return element;
    };
    const left = leaveIt.percents
      ? `: ${F.toPlaces(leaveIt.percents.get(line), 2)} % of ${F.toPlaces(leaveIt.size, 2)} g` : "";
    const said = [button("leave", `Leave it${left}`)];
    if (!leaveIt.percents) {
      said.push(made("p", `What it comes to can't be told, not weighed: ${leaveIt.missing.join(", ")}.`));
    }
    if (weighUp.size !== null) {
      const size = bench.shown(F.parse(weighUp.size));
      said.push(button("weigh up", `Weigh the rest up to it: ${size} g in all`));
      const stuck = [...weighUp.cantFollow, ...weighUp.over];
      if (stuck.length) {
        said.push(made("p", `Can't follow, combined or too much already: ${stuck.join(", ")}. `
          + "The percents shift there."));
      }
    }
    if (mixed) {
      said.push(made("p", "Something came from a premix, so the rest is not reckoned up here: weigh "
        + "it up at the computer."));
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
    page.changed();
  };

  const refreshLine = (own) => {
    const row = document.querySelector(`[data-line="${own.id}"]`);
    const target = bench.target(own.id);
    shown(row.querySelector("[data-target]"), target ? `${digits(own, target)} g` : "no target");
    row.classList.toggle("done", bench.held(own.id) !== null);
    const state = row.querySelector(".state");
    if (!state.dataset.asks) shown(state, stateOf(own.id));
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

  const refresh = () => {
    for (const line of data.lines) {
      const last = Math.max(0, bench.state.portions[line.id] || 0,
        ...bench.counting(line.id).map((entry) => entry.portion));
      for (let portion = 1; portion <= last; portion += 1) portionField(line.id, portion);
    }
    for (const field of all("[data-weigh]")) {
      const { key, weigh, portion } = field.dataset;
      fill(field, bench.state.drafts[key] ?? bench.at(weigh, Number(portion))?.grams ?? "");
    }
    for (const field of all("[data-source]")) fill(field, bench.source(field.dataset.source));
    for (const field of all("[data-lot]")) {
      fill(field, bench.lot(field.dataset.lot));
      field.disabled = Boolean(bench.source(field.dataset.lot)); // a premix has packs of its own
    }
    data.lines.forEach(refreshLine);
    refreshTotal();
  };

  // Taking -----------------------------------------------------------------------------------

  const take = (field, sure = false) => {
    const { weigh, portion, key } = field.dataset;
    const row = field.closest(".line"), state = row.querySelector(".state");
    const again = field.dataset.retyped === "yes" && field.dataset.doubted === field.value;
    const found = bench.weigh(weigh, Number(portion), field.value, { sure: sure || again });
    const said = found.wrong || found.doubt || "";
    wrong(field, said);
    state.classList.toggle("wrong", Boolean(said));
    field.dataset.doubted = found.doubt ? field.value : "";
    field.dataset.retyped = "no";
    if (said) {
      state.dataset.asks = "yes";
      const button = made("button", "It is so", { type: "button" });
      button.addEventListener("click", () => take(field, true));
      renew(state, [made("span", `${said} `), ...(found.doubt ? [button] : [])]);
      bench.draft(key, field.value);
    } else {
      delete state.dataset.asks;
      renew(state, []);
    }
    page.refresh();
    if (found.taken) page.send();
    return !said;
  };

  const asTarget = (line) => {
    const own = data.lines.find((one) => one.id === line);
    const needed = bench.needed(line);
    const grams = needed ? bench.shown(needed) : digits(own, bench.target(line));
    bench.weigh(line, 0, grams, { asTarget: true });
    page.changed();
  };

  const takeLot = (field) => {
    bench.setLot(field.dataset.lot, field.value);
    page.changed();
  };

  const takeSource = (field) => {
    bench.setSource(field.dataset.source, field.value);
    page.changed();
  };

  const clear = () => {
    for (const row of all("[data-portions] ~ .entry")) {
      if (row.querySelector("[data-weigh]")) row.remove();
    }
  };

  return { refresh, take, asTarget, takeLot, takeSource, anotherPortion, clear };
};
