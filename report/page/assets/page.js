// What the pages do beyond plain HTML. Everything here can be done without it, too.
"use strict";

const $ = (id) => document.getElementById(id);
const say = (text, wrong) => {
  const box = document.createElement("div");
  box.className = wrong ? "said wrong" : "said";
  box.append(Object.assign(document.createElement("p"), { textContent: text }));
  $("said").replaceChildren(box);
};

// Line and season are shown as soon as they are chosen.
for (const s of document.querySelectorAll(".where select")) s.addEventListener("change", () => s.form.requestSubmit());
for (const b of document.querySelectorAll(".where button, .by-hand")) b.hidden = true;

// A picture that a form was opened for goes off as soon as it is taken.
document.addEventListener("change", (e) => {
  const form = e.target.closest("form[data-send]");
  if (!form || !e.target.files || !e.target.files.length) return;
  say("Sending…");
  form.requestSubmit();
});

// ---- Live: what another device enters shows up by itself.

let armed = false; // a correction is being made
let dirty = false; // something was typed and not sent yet
let waiting = false;
let own = 0; // changes of this page's own that are under way
let later = ""; // what was heard meanwhile

document.addEventListener("input", (e) => { if (e.target.closest("main")) dirty = true; });
document.addEventListener("submit", () => { dirty = false; });

// busy: somebody is at work on this page, and what they have begun must stay.
const busy = () => waits.sending() || armed || dirty || document.querySelector("main details[open]:not(.sure), #answer:not([hidden])");

async function refresh(asked) {
  waiting = false;
  const news = $("news");
  const answer = await fetch(location.href, { headers: { Accept: "text/html", "Hueward-Script": "1" } });
  if (answer.status === 401) return say((await answer.json()).error, true);
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const main = fresh.getElementById("main");
  if (!main) return;
  if (!asked && busy()) { // since it was asked for
    if (!waits.sending() && news) news.hidden = false;
    return;
  }
  document.body.dataset.version = fresh.body.dataset.version;
  const focus = document.activeElement && document.activeElement.id;
  $("main").replaceChildren(...main.childNodes);
  if (news) news.hidden = true;
  dirty = false;
  document.documentElement.classList.remove("answered"); // the answer to a photo went with it
  if (focus && $(focus)) $(focus).focus({ preventScroll: true });
  begin();
}

function heard(version) {
  if (own) { later = version; return; }
  if (!version || version === document.body.dataset.version || waiting) return;
  if (document.body.dataset.page === "error") return;
  if (busy()) {
    if (!waits.sending() && $("news")) $("news").hidden = false;
    return;
  }
  waiting = true;
  setTimeout(() => refresh().catch(() => { waiting = false; }), 150); // several changes at once make one
}

if (window.EventSource && document.body.dataset.version !== undefined) {
  let ears = null;
  const listen = () => {
    ears = new EventSource("/live");
    ears.addEventListener("book", (e) => heard(e.data));
    ears.addEventListener("open", () => { $("live").textContent = "Shows by itself what others enter."; });
    ears.addEventListener("error", () => {
      $("live").textContent = "No connection to the book at the moment.";
      if (ears && ears.readyState === EventSource.CLOSED) refresh().catch(() => {}); // refused: that says why
    });
  };
  const stop = () => { if (ears) ears.close(); ears = null; };
  // A page in the background does not listen: a browser has few connections to spare.
  document.addEventListener("visibilitychange", () => (document.hidden ? stop() : ears || listen()));
  addEventListener("pagehide", stop);
  addEventListener("pageshow", () => ears || document.hidden || listen());
  $("fetch-news").addEventListener("click", () => refresh(true));
}

// ---- At work: a page that is not there at once says so.

let working = 0;

function works() {
  clearTimeout(working);
  working = setTimeout(() => {
    const bar = Object.assign(document.createElement("p"), { id: "working", textContent: "Working…" });
    bar.setAttribute("role", "status");
    if (!$("working")) document.body.prepend(bar);
  }, 120);
}
function rests() {
  clearTimeout(working);
  if ($("working")) $("working").remove();
}
document.addEventListener("click", (e) => {
  const a = e.target.closest("a[href]");
  if (!a || e.defaultPrevented || e.button || e.ctrlKey || e.metaKey || e.shiftKey || a.target || a.hasAttribute("download") || a.origin !== location.origin || a.pathname === location.pathname) return;
  works();
});
document.addEventListener("submit", (e) => setTimeout(() => { if (!e.defaultPrevented && !(e.submitter && e.submitter.formTarget) && !/\.pdf$/.test(e.target.action)) works(); }));
addEventListener("pageshow", rests);
addEventListener("pagehide", rests);

// ---- What was done by one touch, without a new page.

// post sends a form for a script, and returns what is answered; it throws with the book's own
// words. Without a connection it waits on this device, under those words, and says so.
async function post(path, body, words) {
  own++;
  try {
    const a = await waits.form(path, body, words);
    if (a.version) document.body.dataset.version = a.version;
    return a;
  } finally {
    own--;
    if (later) { heard(later); later = ""; }
  }
}

// done says what was done, with a button that takes it back.
function done(a, token, back) {
  say(a.text);
  if (!a.change) return;
  const form = Object.assign(document.createElement("form"), { method: "post", action: "/undo" });
  for (const [name, value] of [["token", token], ["change", a.change], ["back", back]]) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  form.append(Object.assign(document.createElement("button"), { className: "plain", textContent: "Undo" }));
  $("said").firstElementChild.append(form);
}

// ---- Forms that enter something go the same way: they wait where there is no connection,
// a second touch does nothing, and the page stays where it was.

const entering = /^\/(crosses|heads|packets|plants|pairs|pollen|place|clones|crops|crops\/values)$|^\/plants\/[^/]+\/(note|score)$/;

// told are the form's words for a list: what was pressed, and what was filled in.
function told(form, pressed) {
  const filled = [...form.elements].filter((f) => f.matches("input:not([type=hidden]), select, textarea") && (f.type !== "checkbox" || f.checked) && f.value);
  const values = filled.map((f) => (f.selectedOptions ? f.selectedOptions[0].textContent : f.value));
  return [pressed ? pressed.ariaLabel || pressed.textContent : "", ...values].filter(Boolean).join(", ");
}

document.addEventListener("submit", async (e) => {
  const form = e.target, pressed = e.submitter;
  if (e.defaultPrevented || form.getAttribute("method") !== "post" || !entering.test(form.getAttribute("action"))) return;
  e.preventDefault();
  if (form.dataset.sent) return;
  form.dataset.sent = "1";
  const body = new URLSearchParams(new FormData(form));
  if (pressed && pressed.name) body.append(pressed.name, pressed.value);
  try {
    const a = await post(form.getAttribute("action"), body, told(form, pressed));
    if (a.waits) {
      say(a.text);
      if (!form.querySelector("textarea")) form.reset();
    } else if (new URL(a.to, location.href).pathname !== location.pathname) {
      sessionStorage.setItem("done", JSON.stringify({ text: a.text, change: a.change }));
      location.assign(a.to);
      return; // a second touch meanwhile does nothing
    } else {
      const subject = form.elements.subject && form.elements.subject.type === "hidden" && form.elements.subject.value;
      await refresh(true).catch(() => {});
      if (subject && !document.querySelector(`main input[type=hidden][name=subject][value="${CSS.escape(subject)}"]`)) settle();
      done(a, form.elements.token.value, form.elements.back.value);
    }
  } catch (err) {
    refused(form, err);
  }
  delete form.dataset.sent;
});

// settle keeps the second half of a double touch from what has moved up under the finger.
function settle() {
  $("main").classList.add("settling");
  setTimeout(() => $("main").classList.remove("settling"), 600);
}

// refused says why a form was not taken, which keeps what was typed: all of it, or of a list
// what is left to do.
function refused(form, err) {
  say(err.message, true);
  dirty = true;
  const { left = {}, now } = err.answer || {};
  for (const name in left) {
    for (const f of form.querySelectorAll(`[name="${name}"]`)) {
      if (f.type === "checkbox") f.checked = left[name].includes(f.value);
      else f.value = left[name].join(" ");
    }
  }
  if (now !== undefined && form.elements.was) form.elements.was.value = now; // which was just shown
}

// What waited was taken meanwhile.
document.addEventListener("kept", (e) => {
  if (e.detail.item.kind !== "form") return;
  say(e.detail.answer.text);
  if (!busy()) refresh().catch(() => {});
});

// What was done on the page before is told on this one.
if (sessionStorage.getItem("done") && document.body.dataset.version !== undefined) {
  done(JSON.parse(sessionStorage.getItem("done")), document.querySelector(".find").elements.token.value, location.pathname);
  sessionStorage.removeItem("done");
}

// ---- What each page begins, anew whenever its matter was replaced.

const begins = [];

function begin() {
  armed = false;
  dirty = !!document.querySelector("form[data-typed]"); // what could not be taken is in it again
  for (const f of begins) f();
}
addEventListener("DOMContentLoaded", begin); // when the page's own script was read, too
