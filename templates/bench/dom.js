/* What every part of the page needs of a browser. */
const Dom = (() => {
  const $ = (id) => document.getElementById(id);
  const all = (query) => [...document.querySelectorAll(query)];
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
  const fill = (field, text) => {
    if (field !== document.activeElement && field.value !== text) field.value = text;
  };
  const wrong = (field, is) => field.setAttribute("aria-invalid", String(Boolean(is)));

  const isNumber = (text) => /^-?[0-9]{1,9}([.,][0-9]{1,9})?$/.test(text);
  const pointed = (text) => text.trim().replace(",", ".");

  return { $, all, made, renew, shown, fill, wrong, isNumber, pointed };
})();
