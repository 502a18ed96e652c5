"use strict";
// "make [100] g": the table in percent gets a column of grams, reckoned in whole numbers.
(() => {
  const head = document.getElementById("what-goes-in");
  const wide = head && head.parentElement.querySelector("#what-goes-in ~ .wide");
  if (!wide) return;

  // "70.40" is [7040n, 2]; a decimal comma is taken too. Anything else is null.
  const figure = (text) => {
    const typed = text.trim().replace(",", ".");
    if (!/^[0-9]{1,7}(\.[0-9]{1,9})?$/.test(typed)) return null;
    const [whole, part = ""] = typed.split(".");
    return [BigInt(whole + part), part.length];
  };

  // Percent of a mass in hundredths of a gram, of less than 20 g in thousandths; halves to even.
  const grams = (percent, mass) => {
    const over = 10n ** BigInt(percent[1] + mass[1] + 2);
    const places = mass[0] < 20n * 10n ** BigInt(mass[1]) ? 3 : 2;
    const scaled = percent[0] * mass[0] * 10n ** BigInt(places);
    let whole = scaled / over;
    const rest = (scaled % over) * 2n;
    if (rest > over || (rest === over && whole % 2n === 1n)) whole += 1n;
    const digits = whole.toString().padStart(places + 1, "0");
    return `${digits.slice(0, -places)}.${digits.slice(-places)}`;
  };

  const rows = [...wide.querySelectorAll("tbody tr")].map((row) => {
    const cell = document.createElement("td");
    cell.className = "figure";
    const percent = figure(row.lastElementChild.textContent);
    row.append(cell);
    return { cell, percent };
  });
  const title = document.createElement("th");
  title.className = "figure";
  title.scope = "col";
  title.textContent = "g";
  wide.querySelector("thead tr").append(title);

  const field = document.createElement("input");
  field.id = "mass";
  field.inputMode = "decimal";
  field.autocomplete = "off";
  field.size = 5;
  field.value = "100";
  const label = document.createElement("label");
  label.htmlFor = "mass";
  label.textContent = "make ";
  const line = document.createElement("p");
  line.className = "make";
  line.append(label, field, " g");
  wide.before(line);

  const reckon = () => {
    const mass = figure(field.value);
    field.setAttribute("aria-invalid", String(!mass));
    for (const { cell, percent } of rows) {
      cell.textContent = mass && percent ? grams(percent, mass) : "";
    }
  };
  field.addEventListener("input", reckon);
  reckon();
})();
