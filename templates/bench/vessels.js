/* The vessels: what each weighs before and after, what went off, what stayed in it. */
const Vessels = (page) => {
  const { bench, data } = page;
  const { $, all, shown, fill, wrong } = Dom;
  const F = Figures;

  const grams = (mass) => `${bench.shown(mass.n < 0n ? F.sub(F.ZERO, mass) : mass)} g`;

  const stateOf = (vessel) => {
    const { content, lost, residue } = bench.vessel(vessel);
    const said = [];
    if (content) said.push(content.n < 0n ? "lighter before heating than empty: weigh it again"
      : `${grams(content)} in it before heating`);
    if (lost) said.push(lost.n < 0n ? `${grams(lost)} heavier after heating: weigh it again`
      : `${grams(lost)} went off`);
    if (residue) said.push(residue.n < 0n ? `${grams(residue)} lighter than empty: weigh it again`
      : `${grams(residue)} stayed in it`);
    return said.join("; ");
  };

  const refresh = () => {
    for (const field of all("[data-vessel]")) {
      const { vessel, reading, turn, key } = field.dataset;
      const kept = bench.inVessel(vessel, reading, Number(turn))?.value ?? "";
      fill(field, bench.state.drafts[key] ?? kept);
    }
    for (const cell of all("[data-paper-of]")) { // for paper
      shown(cell, $(cell.dataset.paperOf).value || cell.dataset.before);
    }
    for (const { id } of data.vessels) {
      const state = all("[data-vessel-state]").find((one) => one.dataset.vesselState === id);
      if (!state.dataset.asks) shown(state, stateOf(id));
    }
  };

  const take = (field) => {
    const { vessel, reading, turn, key } = field.dataset;
    const state = field.closest(".vessel").querySelector(".state");
    const found = bench.weighVessel(vessel, reading, Number(turn), field.value);
    wrong(field, found.wrong);
    state.classList.toggle("wrong", Boolean(found.wrong));
    if (found.wrong) {
      state.dataset.asks = "yes";
      shown(state, found.wrong);
      bench.draft(key, field.value);
    } else delete state.dataset.asks;
    page.refresh();
    if (found.taken) page.send();
    return !found.wrong;
  };

  return { refresh, take };
};
