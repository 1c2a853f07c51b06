// Large keys for a number. They show where this file runs; without it the field is typed into. Plus and minus move the
// last digit that stands there.
function decimals(text) {
  const at = text.indexOf(".");
  return at < 0 ? 0 : text.length - at - 1;
}

function pressed(text, key) {
  if (key === "back") return text.slice(0, -1);
  if (key === "sign") return text.startsWith("-") ? text.slice(1) : "-" + text;
  if (key === "." && text.includes(".")) return text;
  if (key === "plus" || key === "minus") {
    const places = decimals(text);
    const value = Number(text || "0");
    if (!Number.isFinite(value)) return text;
    const scale = 10 ** places;
    return ((Math.round(value * scale) + (key === "plus" ? 1 : -1)) / scale).toFixed(places);
  }
  return text + key;
}

function show() {
  for (const pad of document.querySelectorAll("[data-keypad][hidden]")) pad.hidden = false;
}

document.addEventListener("click", (event) => {
  const key = event.target.closest?.("[data-key]");
  const pad = key?.closest("[data-keypad]");
  if (!pad) return;
  const field = document.getElementById(pad.dataset.keypad);
  const next = pressed(field.value, key.dataset.key);
  if (field.maxLength < 0 || next.length <= field.maxLength) field.value = next;
  field.dispatchEvent(new Event("input", { bubbles: true }));
});
// Pages come whole, or are swapped in: what is new on them is looked at either way.
let read = null;
function look() {
  show();
  const reasons = document.getElementById("reasons");
  if (reasons && reasons !== read) reasons.focus(); // what was refused is read first
  read = reasons;
}
new MutationObserver(look).observe(document.documentElement, { childList: true, subtree: true });
look();
