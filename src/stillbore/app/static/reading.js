// A reading that is typed changes a few parts of the page, and only those are put in place anew: whoever reads a gauge
// keeps the key under the finger. Without this file, and where a reading is refused, the page comes whole.
const PARTS = ["gauge-so-far", "gauge-last", "cable-read"];
let whole = false;

async function take(form, submitter) {
  const body = new URLSearchParams(new FormData(form, submitter));
  body.set("parts", "yes");
  const answer = await (window.localFetch ?? fetch)(form.getAttribute("action"), { method: "POST", body });
  if (!answer.ok) return false;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (!form.isConnected) return true;  // the crew is on another page by now
  for (const name of PARTS) document.getElementById(name).replaceWith(document.adoptNode(page.getElementById(name)));
  document.querySelector("[data-cable=keys]").hidden = false;
  form.elements.pressure.value = "";
  return true;
}

document.addEventListener("submit", async (event) => {
  const { target: form, submitter } = event;
  if (whole || event.defaultPrevented || submitter?.value !== "reading") return;
  event.preventDefault();
  event.stopImmediatePropagation();
  if (form.ariaBusy === "true") return;  // a second press before the first was answered
  form.ariaBusy = "true";
  const taken = await take(form, submitter).catch(() => false);
  form.ariaBusy = null;
  if (taken || !form.isConnected) return;
  whole = true;
  form.requestSubmit(submitter);
  whole = false;
}, true);
