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
  say("Is sent…");
  form.requestSubmit();
});

// ---- Live: what another device enters shows up by itself.

let sending = 0; // photos under way
let armed = false; // a correction is being made
let dirty = false; // something was typed and not sent yet
let waiting = false;
let own = 0; // changes of this page's own that are under way
let later = ""; // what was heard meanwhile

document.addEventListener("input", (e) => { if (e.target.closest("main")) dirty = true; });
document.addEventListener("submit", () => { dirty = false; });

// busy: somebody is at work on this page, and what they have begun must stay.
const busy = () => sending || armed || dirty || document.querySelector("main details[open]:not(.sure)");

async function refresh(asked) {
  waiting = false;
  const news = $("news");
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const main = fresh.getElementById("main");
  if (!main) return;
  if (!asked && busy()) { // since it was asked for
    if (!sending && news) news.hidden = false;
    return;
  }
  document.body.dataset.version = fresh.body.dataset.version;
  const focus = document.activeElement && document.activeElement.id;
  $("main").replaceChildren(...main.childNodes);
  if (news) news.hidden = true;
  dirty = false;
  if (focus && $(focus)) $(focus).focus({ preventScroll: true });
  begin();
}

function heard(version) {
  if (own) { later = version; return; }
  if (!version || version === document.body.dataset.version || waiting) return;
  if (document.body.dataset.page === "error") return;
  if (busy()) {
    if (!sending && $("news")) $("news").hidden = false;
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
    ears.addEventListener("error", () => { $("live").textContent = "No connection to the book at the moment."; });
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
    const bar = Object.assign(document.createElement("p"), { id: "working", textContent: "Is worked out…" });
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

// post sends a form for a script, and returns what is answered; it throws with the book's own words.
async function post(path, body) {
  own++;
  try {
    const r = await fetch(path, { method: "POST", body, headers: { Accept: "application/json" } });
    const a = await r.json();
    if (!r.ok) throw new Error(a.error);
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

// ---- Photos: sent one by one, two at a time, again after a lost connection.

const queue = [];
const atOnce = 2;

function enqueue(files, plant, token) {
  $("sending").hidden = false;
  for (const file of files) {
    const row = document.createElement("li");
    const bar = Object.assign(document.createElement("progress"), { max: 1, value: 0 });
    bar.setAttribute("aria-label", file.name);
    const words = Object.assign(document.createElement("span"), { className: "quiet", textContent: "waits" });
    row.append(Object.assign(document.createElement("b"), { className: "file", textContent: file.name }), " ", words, bar);
    $("queue").append(row);
    queue.push({ file, plant, token, row, bar, words, tries: 0 });
  }
  pump();
}

function pump() {
  tell();
  while (sending < atOnce && queue.length) {
    sending++;
    send(queue.shift());
  }
}

let sent = 0, failed = 0;

function tell() {
  const left = queue.length + sending;
  $("sending-all").textContent = left ? `${left} to go, ${sent} done${failed ? `, ${failed} not taken` : ""}.` : `All sent: ${sent} done${failed ? `, ${failed} not taken; see below` : ""}.`;
}

function send(job) {
  const form = new FormData();
  form.append("token", job.token);
  form.append("plant", job.plant);
  form.append("photo", job.file, job.file.name);
  const x = new XMLHttpRequest();
  x.open("POST", "/photos");
  x.setRequestHeader("Accept", "application/json");
  x.upload.onprogress = (e) => {
    if (!e.lengthComputable) return;
    job.bar.value = e.loaded / e.total;
    job.words.textContent = e.loaded < e.total ? `${Math.round((100 * e.loaded) / e.total)} % sent` : "is measured";
  };
  const done = () => { sending--; pump(); };
  const again = () => {
    job.tries++;
    job.bar.value = 0;
    const wait = Math.min(30, 2 ** job.tries);
    job.words.textContent = `no connection; tries again in ${wait} s`;
    let over = false;
    const retry = () => {
      if (over) return;
      over = true;
      removeEventListener("online", retry);
      queue.unshift(job);
      done();
    };
    addEventListener("online", retry);
    setTimeout(retry, wait * 1000);
  };
  x.onerror = x.ontimeout = x.onabort = again;
  x.onload = () => {
    if (x.status >= 500 && job.tries < 6) return again();
    let answer;
    try { answer = JSON.parse(x.responseText); } catch { answer = { error: `Not taken (${x.status}).` }; }
    if (x.status !== 200) {
      failed++;
      job.bar.remove();
      job.words.textContent = answer.error || `Not taken (${x.status}).`;
      return done();
    }
    sent++;
    job.row.remove();
    for (const a of answer) {
      const old = a.id && document.querySelector(`#recent [data-photo="${a.id}"]`);
      if (old) old.remove();
      $("recent").insertAdjacentHTML("afterbegin", a.html);
    }
    done();
  };
  x.send(form);
}

addEventListener("beforeunload", (e) => { if (sending || queue.length) e.preventDefault(); });

function beginPhotos() {
  const form = $("add");
  if (!form) return;
  const inputs = form.querySelectorAll("input[type=file]");
  const take = () => {
    const files = [...inputs].flatMap((i) => [...i.files]);
    if (!files.length) return say("Choose photos first, or take one.", true);
    enqueue(files, form.elements.plant.value, form.elements.token.value);
    for (const i of inputs) i.value = "";
    dirty = false;
  };
  form.addEventListener("submit", (e) => { e.preventDefault(); take(); });
  inputs[1].addEventListener("change", () => { if (inputs[1].files.length) take(); });
}

// ---- What each page begins, anew whenever its matter was replaced.

const begins = [beginPhotos];

function begin() {
  armed = false;
  for (const f of begins) f();
}
addEventListener("DOMContentLoaded", begin); // when the page's own script was read, too
