/* The steps and the room: temperatures and words in their places, clock times, timers. */
const Steps = (page) => {
  const { bench, data } = page;
  const { all, shown, fill, wrong, isNumber, pointed } = Dom;

  const clock = (iso) => iso.slice(11, 16);
  const hhmm = (milliseconds) => clock(Telling.moment(new Date(milliseconds)));
  const left = (milliseconds) => {
    const seconds = Math.ceil(milliseconds / 1000);
    return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  };

  // Timers -----------------------------------------------------------------------------------

  /* Each span ends at a clock time reckoned from its start: a locked screen loses nothing. */
  const timer = (step) => {
    const said = [];
    let from = Date.parse(bench.value(`step ${step.id}|started`));
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

  const holdFrom = (step) => {
    bench.state.reached[step] = Telling.moment(new Date());
    bench.save();
    page.refresh();
  };

  const held = (step) => {
    const from = bench.state.reached[step], place = `step ${step}|hold`;
    if (!from || bench.value(place)) return;
    const minutes = Math.round((Date.now() - Date.parse(from)) / 60000);
    if (minutes > 0) bench.put(place, `${minutes} min`);
  };

  // Times ------------------------------------------------------------------------------------

  /* A clock time typed for a step: today, or yesterday where today's has not come yet. */
  const typedTime = (text) => {
    const [hours, minutes] = text.split(":").map(Number);
    const date = new Date();
    date.setHours(hours, minutes, 0, 0);
    if (date.getTime() > Date.now() + 3600000) date.setDate(date.getDate() - 1);
    return Telling.moment(date);
  };

  const takeTime = (key, iso) => {
    bench.put(key, iso);
    const [step, end] = key.slice("step ".length).split("|");
    if (end === "ended") held(step);
    page.changed();
  };
  const timeNow = (key) => takeTime(key, Telling.moment(new Date()));
  const timeTyped = (field) => {
    if (field.value) takeTime(field.dataset.time, typedTime(field.value));
  };

  // Values -----------------------------------------------------------------------------------

  const wrongAt = (field, text) => {
    const owner = field.closest("[data-owner]").dataset.owner;
    shown(document.querySelector(`[data-wrong="${owner}"]`), text);
    wrong(field, text);
  };

  const take = (field) => {
    const { value: key, kind, unit } = field.dataset;
    const typed = field.value.trim(), numeric = kind !== "text";
    const good = !typed || !numeric || isNumber(typed);
    wrongAt(field, good ? "" : `${typed} is not a number${unit ? ` of ${unit}` : ""}.`);
    if (!good) return false;
    const gap = unit === "%" ? "" : " ";
    bench.put(key, numeric && typed ? `${pointed(typed)}${gap}${unit}` : typed);
    page.changed();
    return true;
  };

  const refresh = () => {
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
    tick();
  };

  return { refresh, tick, take, timeNow, timeTyped, holdFrom };
};
