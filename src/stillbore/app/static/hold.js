// A button that is held: rain on the glass signs nothing. By pointer, or by Enter or the space bar; whoever cannot hold a
// button ticks the box beside it, which works without this file too.
const HOLD_MS = 1200;
let held = null; // {button, timer}

function begin(button) {
  if (held || button.disabled) return;
  button.classList.add("holding");
  held = { button, timer: setTimeout(() => finish(button), HOLD_MS) };
}

function end() {
  if (!held) return;
  clearTimeout(held.timer);
  held.button.classList.remove("holding");
  held = null;
}

function finish(button) {
  end();
  const form = button.form;
  const box = form.querySelector("[data-held]");
  if (!form.reportValidity()) return;
  box.checked = true;
  form.requestSubmit();
}

const holdButton = (event) => event.target.closest?.("[data-hold]");

document.addEventListener("pointerdown", (event) => {
  const button = holdButton(event);
  if (button && event.button === 0) begin(button);
});
for (const name of ["pointerup", "pointercancel"]) document.addEventListener(name, end);
document.addEventListener("pointerout", (event) => { if (held && holdButton(event) === held.button && !held.button.contains(event.relatedTarget)) end(); });
document.addEventListener("contextmenu", (event) => { if (holdButton(event)) event.preventDefault(); });
document.addEventListener("keydown", (event) => {
  const button = holdButton(event);
  if (!button || (event.key !== "Enter" && event.key !== " ")) return;
  event.preventDefault();
  if (!event.repeat) begin(button);
});
document.addEventListener("keyup", (event) => {
  const button = holdButton(event);
  if (!button || (event.key !== "Enter" && event.key !== " ")) return;
  event.preventDefault();
  const short = held !== null;
  end();
  if (short && button.form.querySelector("[data-held]").checked) button.form.requestSubmit();
});
document.addEventListener("click", (event) => {
  const button = holdButton(event);
  // A press is enough only with the box ticked.
  if (button && !button.form.querySelector("[data-held]").checked) {
    event.preventDefault();
    button.classList.add("too-short");
  }
});
