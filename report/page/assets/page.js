// What the pages do beyond plain HTML. Everything here can be done without it, too.
"use strict";

const $ = (id) => document.getElementById(id);
const say = (text, wrong) => {
  const box = document.createElement("div");
  box.className = wrong ? "said wrong" : "said";
  box.append(Object.assign(document.createElement("p"), { textContent: text }));
  $("said").replaceChildren(box);
};

// Style sheets that came with the page are fetched as files, when all else is there, to be kept for the next one.
addEventListener("load", () => {
  for (const s of document.querySelectorAll("style[data-from]")) fetch(s.dataset.from).catch(() => {});
});

// whenChosen shows what is chosen of a list at once. Whoever goes through a list by its keys passes over others on the way:
// then Enter or the form's button shows it.
function whenChosen(list) {
  const button = list.form.querySelector("button");
  let keys = false;
  list.addEventListener("pointerdown", () => { keys = false; });
  list.addEventListener("keydown", (e) => {
    keys = true;
    if (e.key === "Enter" && changed(list)) { e.preventDefault(); list.form.requestSubmit(); }
  });
  list.addEventListener("change", () => { if (keys) button.hidden = false; else list.form.requestSubmit(); });
}

// Line and season are shown as soon as they are chosen.
for (const b of document.querySelectorAll(".where button")) b.hidden = true;
for (const s of document.querySelectorAll(".where select")) whenChosen(s);

// A picture that a form was opened for goes off as soon as it is taken.
document.addEventListener("change", (e) => {
  const form = e.target.closest("form[data-send]");
  if (!form || !e.target.files || !e.target.files.length) return;
  say("Sending…");
  form.requestSubmit();
});

// ---- Live: what another device enters shows up by itself.

let armed = false; // a correction is being made
let pressing = 0; // a finger is down: the alarm that ends the wait for it
let waiting = false;
let own = 0; // changes of this page's own that are under way
let turn = 0; // and how many began or ended so far
let later = ""; // what was heard meanwhile
let calm = []; // who waits until none is under way

// Nothing moves under a finger. What was heard meanwhile comes when it is lifted.
const lifted = () => { clearTimeout(pressing); pressing = 0; if (later && !own) { heard(later); later = ""; } };
addEventListener("pointerdown", () => { clearTimeout(pressing); pressing = setTimeout(lifted, 5000); }, true);
for (const e of ["pointerup", "pointercancel"]) addEventListener(e, () => setTimeout(lifted, 60), true);

// changed: something else stands in the field than the page came with.
function changed(f) {
  if (!f.matches("input:not([type=hidden], [type=submit], [type=image]), select, textarea")) return false;
  if (f.form?.hasAttribute("data-typed") && f.value) return true; // the server could not take it
  if (f.type === "checkbox" || f.type === "radio") return f.checked !== f.defaultChecked;
  if (f.type === "file") return f.files.length > 0;
  if (f.tagName !== "SELECT") return f.value !== f.defaultValue;
  const meant = [...f.options].findIndex((o) => o.defaultSelected);
  return f.selectedIndex !== Math.max(meant, 0);
}
const typed = () => [...$("main").querySelectorAll("form:not(.sift) :is(input, select, textarea)")].some(changed);

// busy: somebody is at work on this page, and what they have begun must stay.
const busy = () => waits.sending() || armed || typed() || document.querySelector("main details[open]:not(.sure), #answer:not([hidden])");

// begun remembers what was begun in the matter of the page, and where one is: what was filled
// in, but for the form that was sent, what was opened, the place and the focus. It returns
// what puts that into the matter that came in its stead.
function begun(sent) {
  const main = $("main");
  const keys = () => {
    const n = {};
    return new Map([...main.querySelectorAll("form")].map((form) => {
      const hidden = [...form.elements].filter((f) => f.type === "hidden" && !/^(token|back|request|was|change)$/.test(f.name)).map((f) => f.value);
      const key = [form.getAttribute("action"), ...hidden].join(" ");
      return [form, `${key} ${(n[key] = (n[key] || 0) + 1)}`];
    }));
  };
  const were = keys(), within = (e) => (e.parentElement.closest("[id]") || main).id;
  const sign = (e, of) => [e.tagName, e.id, of.get(e.form), e.name, e.type, e.tagName === "BUTTON" || /^(checkbox|radio)$/.test(e.type) ? e.value : "", e.getAttribute("href"), e.tagName === "SUMMARY" || e.href ? within(e) + e.textContent : ""].join("\n");
  const filled = [...were.keys()].filter((f) => f !== sent).flatMap((f) => [...f.elements].filter(changed)).map((f) => [f, sign(f, were)]);
  const opened = [...main.querySelectorAll("details[open] > summary")].map((e) => sign(e, were));
  const at = document.activeElement, focus = at && main !== at && main.contains(at) && sign(at, were);
  const mark = [90, 200, 320].map((y) => document.elementFromPoint(innerWidth / 2, y)?.closest("main [id]")).find(Boolean), top = mark?.getBoundingClientRect().top;
  return () => {
    const are = keys(), find = (what, s) => [...main.querySelectorAll(what)].find((e) => sign(e, are) === s);
    for (const [was, s] of filled) {
      const f = find(was.tagName, s);
      if (!f) continue;
      if (was.type === "checkbox" || was.type === "radio") f.checked = was.checked;
      else if (was.type === "file") f.files = was.files;
      else f.value = was.value;
      // A text that somebody else has changed meanwhile is still asked about.
      if (was.form.elements.was && f.form.elements.was) f.form.elements.was.value = was.form.elements.was.value;
    }
    for (const s of opened) {
      const e = find("summary", s);
      if (e) e.parentElement.open = true;
    }
    const mine = focus && find(at.tagName, focus);
    if (mine) {
      mine.focus({ preventScroll: true });
      if (at.selectionStart != null) mine.setSelectionRange(at.selectionStart, at.selectionEnd);
    }
    if (mark?.id && $(mark.id)) scrollBy(0, $(mark.id).getBoundingClientRect().top - top);
  };
}

// refresh fetches the page anew. Asked for, it comes whatever was begun, which it keeps; sent
// is the form that was just taken.
async function refresh(asked, sent) {
  waiting = false;
  const news = $("news");
  let fresh;
  for (let tries = 0, at = -1; at !== turn && tries < 5; tries++) { // what this page enters meanwhile must not be undone by it
    if (own) await new Promise((ok) => calm.push(ok));
    at = turn;
    const answer = await fetch(location.href, { headers: { Accept: "text/html", "Hueward-Script": "1" } });
    if (answer.status === 401) return say((await answer.json()).error, true);
    if (!answer.ok) return;
    fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  }
  const main = fresh.getElementById("main");
  if (!main) return;
  if (!asked && pressing) { later = fresh.body.dataset.version; return; }
  if (!asked && busy()) { // since it was asked for
    if (!waits.sending() && news) news.hidden = false;
    return;
  }
  const put = begun(sent);
  document.body.dataset.version = fresh.body.dataset.version;
  $("main").replaceChildren(...main.childNodes);
  if (news) news.hidden = true;
  document.documentElement.classList.remove("answered"); // the answer to a photo went with it
  put();
  begin();
}

function heard(version) {
  if (own || pressing) { later = version; return; }
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
    ears.addEventListener("open", () => { $("live").textContent = "Shows what others enter, by itself."; });
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
  turn++;
  try {
    const a = await waits.form(path, body, words);
    if (a.version) document.body.dataset.version = a.version;
    return a;
  } finally {
    own--;
    turn++;
    if (!own) for (const ok of calm.splice(0)) ok();
    if (later) { heard(later); later = ""; }
  }
}

// done says what was done, with a button that takes it back.
function done(a, token, back) {
  if (!a.text) return;
  say(a.text);
  if (!a.change) return;
  const form = Object.assign(document.createElement("form"), { method: "post", action: "/undo" });
  form.dataset.words = `Undo: ${a.text}`;
  for (const [name, value] of [["token", token], ["change", a.change], ["back", back]]) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  form.append(Object.assign(document.createElement("button"), { className: "plain", textContent: "Undo" }));
  $("said").firstElementChild.append(form);
}

// ---- Forms that enter something go the same way: they wait where there is no connection,
// a second touch does nothing, and the page stays where it was. Those that only ask, or that
// would mean something else later, do not wait, and say so.

const asking = /^\/(scan|look|keep\/backup|devices\/forget)$/;
const asks = (form) => asking.test(form.getAttribute("action")) || form.enctype === "multipart/form-data";
const ownWay = "#add, #act, [data-decide], [data-tick]"; // see photos.js, plants.js, today.js

// told are the form's words for a list: what was pressed, and what was filled in.
function told(form, pressed) {
  if (form.dataset.words) return form.dataset.words;
  const filled = [...form.elements].filter((f) => f.matches("input:not([type=hidden], [type=image]), select, textarea") && (f.type !== "checkbox" || f.checked) && f.value);
  const values = filled.map((f) => (f.selectedOptions ? f.selectedOptions[0].textContent : f.value));
  return [pressed ? pressed.ariaLabel || pressed.alt || pressed.textContent : "", ...values].filter(Boolean).join(", ");
}

// ask sends a form that cannot wait.
async function ask(path, body) {
  const r = await fetch(path, { method: "POST", body, headers: { Accept: "application/json" }, redirect: "error" }).catch(() => null);
  if (!r) throw Object.assign(new Error("No connection: nothing was changed. Try again."), { again: true });
  const a = await r.json().catch(() => ({}));
  if (!r.ok) throw Object.assign(new Error(a.error || "That did not work. Try again."), { answer: a });
  return a;
}

document.addEventListener("submit", async (e) => {
  const form = e.target, pressed = e.submitter, path = form.getAttribute("action");
  if (e.defaultPrevented || form.getAttribute("method") !== "post" || form.matches(ownWay)) return;
  e.preventDefault();
  if (form.dataset.sent) return;
  form.dataset.sent = "1";
  const body = new FormData(form, pressed);
  if (pressed?.name && pressed.type !== "image" && !body.getAll(pressed.name).includes(pressed.value)) body.append(pressed.name, pressed.value); // of older browsers
  try {
    if (asks(form)) {
      works();
      const a = await ask(path, form.enctype === "multipart/form-data" ? body : new URLSearchParams(body)).finally(rests), to = new URL(a.to, location.href);
      if (path === "/look") look(body.get("look"));
      else if (to.pathname + to.search !== location.pathname + location.search) return leave(a);
      else await refresh(true, form).catch(() => {});
      done(a, body.get("token"), location.pathname);
    } else {
      await enter(form, await post(path, new URLSearchParams(body), told(form, pressed)));
    }
  } catch (err) {
    refused(form, err);
  }
  delete form.dataset.sent;
});

// leave goes to the page that an answer names, where it is told what was done; a second touch
// meanwhile does nothing.
function leave(a) {
  if (a.text) sessionStorage.setItem("done", JSON.stringify({ text: a.text, change: a.change }));
  works();
  location.assign(a.to);
  return new Promise(() => {});
}

// enter shows what a form has entered, or that it waits.
async function enter(form, a) {
  const to = new URL(a.to || "", location.href), shown = form.closest("[data-photo]");
  if (a.waits) {
    say(a.text);
    const { was, note } = form.elements;
    if (was && note) was.value = note.value.replace(/\r\n/g, "\n"); // which this one's successor follows
    else form.reset();
  } else if (shown && a.card) { // a photo stays where it is shown
    for (const c of document.querySelectorAll(`[data-photo="${shown.dataset.photo}"]`)) c.outerHTML = a.card;
    document.dispatchEvent(new CustomEvent("assigned", { detail: a }));
    done(a, form.elements.token.value, location.pathname);
  } else if (to.pathname !== location.pathname) {
    return leave(a);
  } else {
    const subject = form.elements.subject && form.elements.subject.type === "hidden" && form.elements.subject.value;
    await refresh(true, form).catch(() => {});
    if (subject && !document.querySelector(`main input[type=hidden][name=subject][value="${CSS.escape(subject)}"]`)) settle();
    done(a, form.elements.token.value, form.elements.back ? form.elements.back.value : location.pathname);
  }
}

// look takes on how the pages are to look, without a new page, which would forget what was begun.
function look(name) {
  const root = document.documentElement, sun = document.querySelector(".sun button");
  if (name) root.dataset.look = name;
  else delete root.dataset.look;
  document.querySelector("meta[name=color-scheme]").content = name === "dark" ? "dark" : name ? "light" : "light dark";
  sun.setAttribute("aria-pressed", String(name === "sun"));
  sun.value = name === "sun" ? "" : "sun";
  for (const b of document.querySelectorAll(".choose button[name=look]")) b.setAttribute("aria-pressed", String(b.value === name));
}

// settle keeps the second half of a double touch from what has moved up under the finger.
function settle() {
  $("main").classList.add("settling");
  setTimeout(() => $("main").classList.remove("settling"), 600);
}

// refused says why a form was not taken, which keeps what was typed: all of it, or of a list
// what is left to do.
function refused(form, err) {
  say(err.message, true);
  if (err.again) for (const b of form.querySelectorAll(".by-hand")) b.hidden = false; // the picture is still chosen: it can be sent again
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
  turn++;
  const { item, answer: a } = e.detail;
  if (item.kind !== "form") return;
  if (a.text) done(a, waits.token(), location.pathname);
  for (const form of document.querySelectorAll(`form[action="${CSS.escape(item.path)}"]`)) { // what it shows is what the book has now
    for (const [k, v] of item.fields) if (form.elements[k]?.value === v && form.elements[k].type !== "hidden") form.elements[k].defaultValue = v;
  }
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
  for (const b of document.querySelectorAll(".by-hand")) b.hidden = true;
  for (const f of begins) f();
}
addEventListener("DOMContentLoaded", begin); // when the page's own script was read, too
