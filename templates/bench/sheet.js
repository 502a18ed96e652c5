/* What was typed on the sheet: kept at each keystroke, never written over.
   No page here: `data` is what the notebook said when the sheet was made, `keeper` holds one text.

   state.drafts   what stands in a field and isn't taken yet, by the field's key
   state.entries  weights, readings, notes: never written over, struck with a reason
   state.values   one value per place (a temperature, a start), with what stood there before */
const Sheet = ((F, T) => {
  const LETTERS = "abcdefghjkmnpqrstvwxyz23456789";
  const PREFIX = { weighed: "w", added: "w", "weighed up": "d", deviation: "d", reading: "r",
    note: "n", photo: "n" };

  const tag = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(6));
    return [...bytes].map((byte) => LETTERS[byte % LETTERS.length]).join("");
  };

  const pointed = (text) => text.trim().replace(",", ".");

  const empty = () => ({ v: 1, tag: tag(), next: 1, order: 1, drafts: {}, entries: [], values: {},
    portions: {}, lots: {}, answers: {}, reached: {} });

  class Bench {
    constructor(data, keeper, now = () => new Date()) {
      this.data = data;
      this.keeper = keeper;
      this.now = now;
      this.keeps = true;
      this.load();
    }

    load() {
      this.state = empty();
      this.begun = false;
      try {
        const held = JSON.parse(this.keeper.read() || "null");
        if (held && held.v === 1) [this.state, this.begun] = [{ ...empty(), ...held }, true];
      } catch { /* what is kept there is nothing of ours, or can't be read */ }
    }

    save() {
      this.begun = true;
      try {
        this.keeper.write(JSON.stringify(this.state));
        this.keeps = true;
      } catch {
        this.keeps = false;
      }
    }

    /* Nothing of the batch is left behind. */
    clear() {
      this.state = empty();
      this.begun = false;
      try { this.keeper.remove(); } catch { /* it kept nothing */ }
    }

    draft(key, text) {
      this.state.drafts[key] = text;
      this.save();
    }

    drop(key) {
      delete this.state.drafts[key];
      this.save();
    }

    // Entries --------------------------------------------------------------------------------

    add(kind, fields) {
      const state = this.state;
      const id = `${PREFIX[kind]}${state.next}-${state.tag}`;
      const at = T.moment(this.now());
      const entry = { id, kind, order: state.order, rev: 0, sent: false, at, ...fields };
      state.next += 1;
      state.order += 1;
      state.entries.push(entry);
      this.save();
      return entry;
    }

    strike(id, why) {
      const entry = this.state.entries.find((one) => one.id === id);
      if (!entry || entry.struck) return;
      entry.struck = why;
      entry.sent = false;
      entry.rev += 1;
      this.save();
    }

    entry(text) {
      return this.state.entries.find((one) => one.id === text);
    }

    counting(line) {
      return this.state.entries.filter((e) => e.kind === "weighed" && e.line === line && !e.struck);
    }

    at(line, portion) {
      return this.counting(line).find((entry) => entry.portion === portion) || null;
    }

    /* What was weighed for a line, in the notebook before and here; null where nothing was. */
    held(line) {
      const own = new Set(this.state.entries.map((entry) => entry.id));
      const before = this.data.weighings.filter((one) => one.line === line && !own.has(one.id));
      const masses = [...before.map((one) => one.grams), ...this.counting(line).map((e) => e.grams)];
      return masses.length ? F.sum(masses.map(F.parse)) : null;
    }

    /* Targets and size as they stand, after what was weighed up here. */
    _raised() {
      const known = new Set(this.data.known);
      return this.state.entries.filter((e) => e.kind === "weighed up" && !known.has(e.id));
    }

    target(line) {
      const given = this.data.lines.find((one) => one.id === line).target;
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
      if (portion === 0 && !sure && !asTarget && F.doubtful(mass, wanted)) {
        return { doubt: `${grams} g where ${this.shown(wanted)} g is wanted?` };
      }
      if (before) this.strike(before.id, "weighed again");
      this.add("weighed", { line, portion, grams, lot: this.lot(line), asTarget });
      this.drop(key);
      return { taken: true };
    }

    lot(line) {
      return this.state.lots[line] ?? this.data.lines.find((one) => one.id === line).lot;
    }

    /* The pack of a line; weights that were told already are struck and written anew. */
    setLot(line, lot) {
      this.state.lots[line] = lot;
      for (const entry of this.counting(line)) {
        if (entry.sent) {
          const { portion, grams, asTarget, at } = entry;
          this.strike(entry.id, "from another pack");
          this.add("weighed", { line, portion, grams, lot, asTarget, at });
        } else {
          entry.lot = lot;
          entry.rev += 1;
        }
      }
      this.save();
    }

    /* The slip of a line that holds clearly too much and that nobody has decided on. */
    slip(line) {
      const own = this.data.lines.find((one) => one.id === line);
      const mass = this.held(line), target = this.target(line);
      if (own.adjust || mass === null || !target || !target.n) return null;
      if (!F.clearlyOver(mass, target)) return null;
      if (this.state.answers[line] === `${F.text(mass)} of ${F.text(target)}`) return null;
      return F.slip(this.lines(), line, mass, F.parse(this.data.readability));
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

    // Values ---------------------------------------------------------------------------------

    value(key) {
      return this.state.values[key]?.text ?? this.data.values[key] ?? "";
    }

    /* Puts a value into its place; what the notebook was told before is remembered. */
    put(key, text) {
      const held = this.value(key);
      delete this.state.drafts[key];
      if (text === "" && this.state.values[key] && !this.state.values[key].sent) {
        delete this.state.values[key];
      } else if (text !== "" && text !== held) {
        const before = this.state.values[key]?.before ?? [];
        const known = held && !before.includes(held) ? [...before, held] : before;
        this.state.values[key] = { text, before: known.slice(-8), order: this.state.order, rev: 0,
          sent: false };
        this.state.order += 1;
      }
      this.save();
    }

    // Telling --------------------------------------------------------------------------------

    /* One entry, as a line of the text. */
    told(item) {
      return T.told(item, (id) => this.data.lines.find((line) => line.id === id).ingredient);
    }

    /* Everything taken so far, in the order in which it happened. */
    items() {
      const values = Object.entries(this.state.values).map(([key, held]) => ({ key, ...held }));
      return [...this.state.entries, ...values].sort((a, b) => a.order - b.order);
    }

    unsent() {
      return this.items().filter((item) => !item.sent);
    }

    /* Marks as told what has not changed since `items` were read. */
    sent(items) {
      for (const item of items) {
        const held = item.key ? this.state.values[item.key] : this.entry(item.id);
        if (held && held.order === item.order && held.rev === item.rev) held.sent = true;
      }
      this.save();
    }

    text() {
      const told = this.items().map((item) => this.told(item));
      return T.whole(this.data.batch, `${this.data.of}, ${this.size} g`, this.now(), told);
    }
  }

  return { Bench };
})(Figures, Telling);
