/* The sheet as plain text: each entry a line whose parts stand between bars, as the program reads it
   (labbook/work/sheet_text.py). No page here, and nothing is kept. */
const Telling = (() => {
  const HEAD = "labbook bench sheet 1";

  /* A moment with the offset of where the person is: 2026-04-09T10:31:05+02:00. */
  const moment = (date) => {
    const two = (number) => String(number).padStart(2, "0");
    const offset = -date.getTimezoneOffset(), away = Math.abs(offset);
    const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
    const time = [date.getHours(), date.getMinutes(), date.getSeconds()].map(two).join(":");
    return `${day}T${time}${offset < 0 ? "-" : "+"}${two(Math.trunc(away / 60))}:${two(away % 60)}`;
  };

  /* The checksum at the end (CRC-32 of ISO 3309, as in zlib): a copy that lost a part is noticed. */
  const checksum = (text) => {
    let crc = 0xffffffff;
    for (const byte of new TextEncoder().encode(text)) {
      crc ^= byte;
      for (let bit = 0; bit < 8; bit += 1) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
    }
    return ((crc ^ 0xffffffff) >>> 0).toString(16).padStart(8, "0");
  };

  const escaped = (text) => text.replace(/\\/g, "\\\\").replace(/\|/g, "\\p")
    .replace(/\r\n?|\n/g, "\\n").replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]/g, " ").trim();

  const entryFields = (e, nameOf) => {
    const more = [];
    const say = (word, text) => { if (text) more.push(`${word} ${escaped(text)}`); };
    if (e.kind === "weighed up") {
      const targets = Object.entries(e.targets).map(([id, grams]) => `${id} ${grams} g`);
      return [e.line, nameOf(e.line), `${e.grams} g`, `size ${e.size} g`, ...targets];
    }
    if (e.kind === "weighed") {
      say("lot", e.lot);
      say("from", e.from);
      if (e.asTarget) more.push("as target");
      return [e.line, nameOf(e.line), `${e.grams} g`, ...more];
    }
    if (e.kind === "added") {
      say("phase", e.phase);
      return [escaped(e.name), `${e.grams} g`, ...more];
    }
    if (e.kind === "reading") {
      const said = e.seen ? `seen ${escaped(e.seen)}` : `${e.value} ${e.unit}`.trim();
      say("of", e.of);
      say("temperature", e.temperature);
      say("by", e.by);
      return [e.reading, said, ...more];
    }
    say("of", e.of);
    say("step", e.step);
    return [escaped(e.text), ...more];
  };

  /* One line of the text; `nameOf` gives the ingredient of a line. */
  const told = (item, nameOf) => {
    if (item.key) {
      const before = item.before.map((text) => `before ${escaped(text)}`);
      return [...item.key.split("|"), escaped(item.text), ...before].join(" | ");
    }
    const parts = [item.id, item.kind, ...entryFields(item, nameOf), `at ${item.at}`];
    if (item.struck) parts.push(`struck ${escaped(item.struck)}`);
    return parts.join(" | ");
  };

  /* The whole text; `lines` are entries as `told` gives them. */
  const whole = (batch, of, at, lines) => {
    const head = [HEAD, `batch ${batch}`, `of ${of}`, `finished ${moment(at)}`, ""];
    const body = [...head, ...lines, ""].join("\n");
    return `${body}\nend | ${lines.length} entries | ${checksum(body)}\n`;
  };

  return { moment, checksum, escaped, told, whole };
})();
