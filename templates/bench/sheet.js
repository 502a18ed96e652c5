/* The batch on the bench: weights against targets, slips, vessels. No page here: `data` is what the
   notebook said when the sheet was made. */
const Sheet = ((F, T) => {
  const EMPTY = "empty vessel", EMPTIED = "emptied vessel";
  const BEFORE = "mass before heating", AFTER = "mass after heating";
  const pointed = (text) => text.trim().replace(",", ".");

  class Bench extends Keeping.Kept {
    // Lines ----------------------------------------------------------------------------------

    counting(line) {
      return this.state.entries.filter((e) => e.kind === "weighed" && e.line === line && !e.struck);
    }

    at(line, portion) {
      return this.counting(line).find((entry) => entry.portion === portion) || null;
    }

    _line(line) {
      return this.data.lines.find((one) => one.id === line);
    }

    /* All that counts of a line, in the notebook before and here. */
    _weighings(line) {
      const own = new Set(this.state.entries.map((entry) => entry.id));
      const before = this.data.weighings.filter((one) => one.line === line && !own.has(one.id));
      return [...before, ...this.counting(line)];
    }

    /* What was weighed for a line; null where nothing was. */
    held(line) {
      const all = this._weighings(line);
      return all.length ? F.sum(all.map((one) => F.parse(one.grams))) : null;
    }

    // Premixes -------------------------------------------------------------------------------

    /* Whether any of a line came from another batch. */
    isMixed(line) {
      return this._weighings(line).some((one) => one.from);
    }

    /* How much of a mass is the line's ingredient; null for a premix that nobody knows. */
    _ofItself(line, from, mass) {
      if (!from) return mass;
      const percent = this._line(line).premixes[from];
      return percent === undefined ? null : F.holds(mass, F.parse(percent));
    }

    /* What was weighed of the ingredient itself; null where nothing was, or it can't be told. */
    ofItself(line) {
      const found = this._weighings(line).map((one) =>
        this._ofItself(line, one.from, F.parse(one.grams)));
      return found.length && !found.includes(null) ? F.sum(found) : null;
    }

    /* How much of the chosen premix holds the target, as the balance shows it; null without one. */
    needed(line) {
      const percent = this._line(line).premixes[this.source(line)], target = this.target(line);
      if (percent === undefined || !target) return null;
      return F.wholeSteps(F.holding(target, F.parse(percent)), F.parse(this.data.readability));
    }

    /* Targets and size as they stand, after what was weighed up here. */
    _raised() {
      const known = new Set(this.data.known);
      return this.state.entries.filter((e) => e.kind === "weighed up" && !known.has(e.id));
    }

    target(line) {
      const given = this._line(line).target;
      const raised = this._raised().reduce((text, entry) => entry.targets[line] ?? text, given);
      return raised === null ? null : F.parse(raised);
    }

    get size() {
      return this._raised().reduce((text, entry) => entry.size, this.data.size);
    }

    _done(step) {
      const here = Object.keys(this.state.values).some((key) => key.startsWith(`step ${step.id}|`));
      return here || step.done;
    }

    lines() {
      const steps = this.data.steps.filter((one) => one.joins.length && this._done(one));
      const combined = new Set(steps.flatMap((step) => step.joins));
      return this.data.lines.map((line) => ({
        id: line.id, ingredient: line.ingredient, target: this.target(line.id),
        weighed: this.held(line.id), combined: combined.has(line.phase), fixed: line.fixed,
        fillsUp: line.qs,
      }));
    }

    shown(mass) {
      return F.shown(mass, F.parse(this.data.readability));
    }

    // Weighing -------------------------------------------------------------------------------

    /* Takes what stands in a line's field. Gives {taken}, {wrong: sentence} or {doubt: sentence};
       a doubtful one is taken when it is said again, with `sure`. */
    weigh(line, portion, text, { sure = false, asTarget = false } = {}) {
      const key = `w ${line} ${portion}`;
      const before = this.at(line, portion);
      if (!text.trim()) {
        if (before) this.strike(before.id, "typed by mistake");
        this.drop(key);
        return { taken: Boolean(before) };
      }
      const mass = F.parse(text.trim());
      if (mass === null) return { wrong: "Not a number. Write grams, like 12.40" };
      const grams = pointed(text);
      if (before && before.grams === grams && Boolean(before.asTarget) === asTarget) {
        this.drop(key);
        return { taken: false };
      }
      const wanted = this.target(line);
      const itself = this._ofItself(line, this.source(line), mass);
      if (portion === 0 && !sure && !asTarget && itself && F.doubtful(itself, wanted)) {
        return { doubt: `${grams} g where ${this.shown(wanted)} g is wanted?` };
      }
      if (before) this.strike(before.id, "weighed again");
      this.add("weighed", { line, portion, grams, asTarget, ...this._origin(line) });
      this.drop(key);
      return { taken: true };
    }

    lot(line) {
      return this.state.lots[line] ?? this._line(line).lot;
    }

    /* The batch that it is taken from; empty where it is a pack. */
    source(line) {
      return this.state.sources[line] ?? "";
    }

    /* Where a line comes from: of a premix no pack is told, it has its own. */
    _origin(line) {
      const from = this.source(line);
      return from ? { from } : { lot: this.lot(line) };
    }

    setLot(line, lot) {
      this.state.lots[line] = lot;
      this._originChanged(line, "from another pack");
    }

    setSource(line, id) {
      this.state.sources[line] = id;
      this._originChanged(line, "from elsewhere");
    }

    /* Weights that were told already are struck and written anew. */
    _originChanged(line, why) {
      for (const entry of this.counting(line)) {
        const { portion, grams, asTarget, at } = entry;
        if (entry.sent) {
          this.strike(entry.id, why);
          this.add("weighed", { line, portion, grams, asTarget, at, ...this._origin(line) });
        } else {
          Object.assign(entry, { lot: "", from: "", ...this._origin(line) });
          entry.rev += 1;
        }
      }
      this.save();
    }

    /* The slip of a line that holds clearly too much and that nobody has decided on. A premix brings
       other lines with it; that is reckoned at the computer. */
    slip(line) {
      const mass = this.held(line), target = this.target(line);
      if (this._line(line).adjust || this.isMixed(line) || mass === null || !target || !target.n) return null;
      if (!F.clearlyOver(mass, target)) return null;
      if (this.state.answers[line] === `${F.text(mass)} of ${F.text(target)}`) return null;
      const found = F.slip(this.lines(), line, mass, F.parse(this.data.readability));
      const mixed = this.data.lines.some((one) => this.isMixed(one.id));
      return mixed ? { ...found, mixed, weighUp: { ...found.weighUp, size: null } } : found;
    }

    settle(line, choice) {
      const found = this.slip(line);
      if (!found) return;
      const mass = this.held(line);
      if (choice === "weigh up") {
        this.add("weighed up", {
          line, grams: this.shown(mass), size: found.weighUp.size,
          targets: Object.fromEntries([...found.weighUp.targets].map(([id, grams]) =>
            [id, this.shown(F.parse(grams))])),
        });
      } else if (choice === "take out") {
        const last = this.counting(line).at(-1);
        if (last) this.strike(last.id, "taken out again");
        return;
      }
      this.state.answers[line] = `${F.text(mass)} of ${F.text(this.target(line))}`;
      this.save();
    }

    /* What lies in the vessel, and what the lines that count still lack. */
    total() {
      const lines = this.lines();
      const added = this.state.entries.filter((e) => e.kind === "added" && !e.struck);
      const own = new Set(this.state.entries.map((entry) => entry.id));
      const before = this.data.added.filter((one) => !own.has(one.id));
      const extra = [...before, ...added].map((one) => F.parse(one.grams));
      const weighed = lines.filter((line) => line.weighed !== null);
      return {
        mass: F.sum([...weighed.map((line) => line.weighed), ...extra]),
        open: lines.length - weighed.length,
      };
    }

    // Vessels --------------------------------------------------------------------------------

    /* The reading of a vessel that counts; `turn` tells one heating from the next. */
    inVessel(vessel, reading, turn) {
      return this.state.entries.find((e) => e.kind === "reading" && e.of === vessel
        && e.reading === reading && e.turn === turn && !e.struck) ?? null;
    }

    /* Takes what stands in a vessel's field: {taken}, or {wrong: sentence}. */
    weighVessel(vessel, reading, turn, text) {
      const key = `v ${vessel} ${reading} ${turn}`;
      const before = this.inVessel(vessel, reading, turn);
      if (text.trim() && F.parse(text.trim()) === null) {
        return { wrong: "Not a number. Write grams, like 240.1" };
      }
      const value = pointed(text);
      this.drop(key);
      if ((before?.value ?? "") === value) return { taken: false };
      if (before) this.strike(before.id, value ? "weighed again" : "typed by mistake");
      if (value) this.add("reading", { reading, of: vessel, value, unit: "g", turn });
      if (value && reading === BEFORE) this._afterComesLast(vessel, turn);
      return { taken: true };
    }

    /* The notebook pairs the masses of a heating in the order in which they stand. */
    _afterComesLast(vessel, turn) {
      const after = this.inVessel(vessel, AFTER, turn);
      if (!after) return;
      const { value, at } = after;
      this.strike(after.id, "written again behind the mass before");
      this.add("reading", { reading: AFTER, of: vessel, value, unit: "g", turn, at });
    }

    /* What can be told of a vessel by its first heating: {content, lost, residue}, each or null. */
    vessel(vessel) {
      const { held, phase } = this.data.vessels.find((one) => one.id === vessel);
      const mass = (reading) => {
        const text = this.inVessel(vessel, reading, 0)?.value ?? held[reading];
        return text === undefined ? null : F.parse(text);
      };
      const weighed = this.lines().filter((line) => line.weighed !== null
        && (!phase || this._line(line.id).phase === phase));
      return F.vessel({ empty: mass(EMPTY), before: mass(BEFORE), after: mass(AFTER),
        emptied: mass(EMPTIED), content: F.sum(weighed.map((line) => line.weighed)) });
    }

    // Telling --------------------------------------------------------------------------------

    /* One entry, as a line of the text. */
    told(item) {
      return T.told(item, (id) => this._line(id).ingredient);
    }

    text() {
      const told = this.items().map((item) => this.told(item));
      return T.whole(this.data.batch, `${this.data.of}, ${this.size} g`, this.now(), told);
    }
  }

  return { Bench };
})(Figures, Telling);
