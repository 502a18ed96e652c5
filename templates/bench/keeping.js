/* What was typed: kept at each keystroke in one text that `keeper` holds. No page here.

   state.drafts   what stands in a field and isn't taken yet, by the field's key
   state.entries  weights, readings, notes: never written over, struck with a reason
   state.values   one value per place (a temperature, a start), with what stood there before */
const Keeping = ((T) => {
  const LETTERS = "abcdefghjkmnpqrstvwxyz23456789";
  const PREFIX = { weighed: "w", added: "w", "weighed up": "d", deviation: "d", reading: "r",
    note: "n", photo: "n" };

  const tag = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(6));
    return [...bytes].map((byte) => LETTERS[byte % LETTERS.length]).join("");
  };

  const empty = () => ({ v: 1, tag: tag(), next: 1, order: 1, drafts: {}, entries: [], values: {},
    portions: {}, lots: {}, sources: {}, answers: {}, reached: {} });

  class Kept {
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
      const entry = this.entry(id);
      if (!entry || entry.struck) return;
      entry.struck = why;
      entry.sent = false;
      entry.rev += 1;
      this.save();
    }

    entry(id) {
      return this.state.entries.find((one) => one.id === id);
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

    // What is told ---------------------------------------------------------------------------

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
  }

  return { Kept };
})(Telling);
