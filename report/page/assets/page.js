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
for (const b of document.querySelectorAll(".where button")) b.hidden = true;

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

// ---- Plants: a decision by one touch, without losing one's place in the list.

document.addEventListener("submit", async (e) => {
  if (e.target.id !== "act" || !e.submitter) return;
  e.preventDefault();
  const row = e.submitter.closest("tr"), token = e.target.elements.token.value, back = e.target.elements.back.value;
  own++;
  try {
    const r = await fetch("/status", { method: "POST", body: new URLSearchParams({ token, set: e.submitter.value }), headers: { Accept: "application/json" } });
    const a = await r.json();
    if (!r.ok) throw new Error(a.error);
    document.body.dataset.version = a.version;
    row.insertAdjacentHTML("afterend", a.row);
    const fresh = row.nextElementSibling;
    row.remove();
    fresh.querySelector("th a").focus({ preventScroll: true });
    say(a.text);
    if (a.change) {
      const form = Object.assign(document.createElement("form"), { method: "post", action: "/undo" });
      for (const [name, value] of [["token", token], ["change", a.change], ["back", `${back}#${fresh.id}`]]) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
      form.append(Object.assign(document.createElement("button"), { className: "plain", textContent: "Undo" }));
      $("said").firstElementChild.append(form);
    }
  } catch (err) {
    say(err.message || "No connection. Try again.", true);
  }
  own--;
  if (later) { heard(later); later = ""; }
});

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

// ---- One photo: card and petals corrected by touch.

function beginPhoto() {
  const stage = $("stage"), over = $("over");
  if (!stage) return;
  const form = $("correct"), tools = $("tools"), measure = $("measure"), unpaint = $("unpaint"), said = $("tool-said");
  const W = +stage.dataset.w, H = +stage.dataset.h;
  let kept = {};
  try { kept = JSON.parse($("correction").textContent || "{}") || {}; } catch { kept = {}; }
  let strokes = (kept.strokes || []).slice();
  let bloom = null, corners = cornersOf($("quad").getAttribute("points"));
  let tool = "", changed = { card: false, strokes: false };
  tools.hidden = false;

  function cornersOf(text) {
    const c = (text || "").trim().split(/\s+/).map((p) => p.split(",").map(Number)).filter((p) => p.length === 2 && p.every(Number.isFinite));
    return c.length === 4 ? c : null;
  }
  const make = (name, attrs) => {
    const e = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const k in attrs) e.setAttribute(k, attrs[k]);
    return e;
  };
  const clamp = (v, most) => Math.min(Math.max(v, 0), most - 1);
  const at = (e) => {
    const b = over.getBoundingClientRect();
    return [clamp(((e.clientX - b.left) / b.width) * W, W), clamp(((e.clientY - b.top) / b.height) * H, H)];
  };
  const brush = () => (+$("brush").value * Math.max(W, H)) / 200;
  const round = (p) => p.map((v) => Math.round(v * 10) / 10);

  function draw() {
    if (corners) for (const id of ["quad", "quad-casing"]) $(id).setAttribute("points", corners.map((p) => p.join(",")).join(" "));
    const handles = [];
    if (tool === "card" && corners) {
      corners.forEach((p, i) => {
        const h = make("circle", { class: "handle", cx: p[0], cy: p[1], r: Math.max(W, H) / 45, tabindex: 0, role: "slider", "aria-label": `Corner ${i + 1} of the card`, "aria-valuenow": i + 1, "aria-valuetext": `${Math.round(p[0])}, ${Math.round(p[1])}` });
        h.dataset.corner = i;
        handles.push(h);
      });
    }
    if (bloom) handles.push(make("circle", { class: "handle", cx: bloom[0], cy: bloom[1], r: Math.max(W, H) / 70 }));
    $("handles").replaceChildren(...handles);
    $("strokes").replaceChildren(...(changed.strokes ? strokes : []).map((s) => {
      const pts = s.points.length > 1 ? s.points : [s.points[0], [s.points[0][0] + 0.1, s.points[0][1]]];
      return make("path", { class: `stroke ${s.in ? "in" : "out"}`, "stroke-width": 2 * s.radius, d: "M" + pts.map((p) => p.join(" ")).join("L") });
    }));
    unpaint.disabled = !strokes.length;
    measure.disabled = !(bloom || changed.card || changed.strokes);
    armed = !measure.disabled || !!tool;
  }

  const hints = {
    bloom: "Touch the middle of the bloom that is to be measured.",
    card: "Drag each corner onto the grey card, well inside its edge; with the keyboard, by the arrow keys.",
    in: "Paint over petals that were left out.",
    out: "Paint over what is no petal.",
  };
  for (const b of tools.querySelectorAll("[data-tool]")) {
    b.addEventListener("click", () => {
      tool = tool === b.dataset.tool ? "" : b.dataset.tool;
      for (const o of tools.querySelectorAll("[data-tool]")) o.setAttribute("aria-pressed", String(o.dataset.tool === tool));
      stage.classList.toggle("armed", !!tool);
      if (tool === "card" && !corners) {
        const m = Math.min(W, H) / 8;
        corners = [[W / 2 - m, H / 2 - m], [W / 2 + m, H / 2 - m], [W / 2 + m, H / 2 + m], [W / 2 - m, H / 2 + m]].map(round);
        changed.card = true;
      }
      said.textContent = hints[tool] || "";
      draw();
    });
  }
  let grip = -1, stroke = null;
  over.addEventListener("pointerdown", (e) => {
    if (!tool) return;
    e.preventDefault();
    over.setPointerCapture(e.pointerId);
    const p = round(at(e));
    if (tool === "bloom") { bloom = p; } else if (tool === "card") {
      let near = Infinity;
      corners.forEach((c, i) => { const d = Math.hypot(c[0] - p[0], c[1] - p[1]); if (d < near) { near = d; grip = i; } });
      corners[grip] = p;
      changed.card = true;
    } else {
      stroke = { in: tool === "in", radius: Math.round(brush()), points: [p] };
      strokes.push(stroke);
      changed.strokes = true;
    }
    draw();
  });
  over.addEventListener("pointermove", (e) => {
    if (grip < 0 && !stroke) return;
    const p = round(at(e));
    if (grip >= 0) corners[grip] = p;
    else {
      const last = stroke.points[stroke.points.length - 1];
      if (stroke.points.length < 1500 && Math.hypot(p[0] - last[0], p[1] - last[1]) > stroke.radius / 4) stroke.points.push(p);
    }
    draw();
  });
  for (const end of ["pointerup", "pointercancel"]) over.addEventListener(end, () => { grip = -1; stroke = null; });
  over.addEventListener("keydown", (e) => {
    const i = e.target.dataset && e.target.dataset.corner;
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (i === undefined || !step) return;
    e.preventDefault();
    const far = (e.shiftKey ? 1 : 8) * (Math.max(W, H) / 1000);
    corners[i] = round([clamp(corners[i][0] + step[0] * far, W), clamp(corners[i][1] + step[1] * far, H)]);
    changed.card = true;
    draw();
    $("handles").querySelector(`[data-corner="${i}"]`).focus();
  });
  unpaint.addEventListener("click", () => { strokes.pop(); changed.strokes = true; draw(); });

  measure.addEventListener("click", async () => {
    const body = new URLSearchParams({ token: form.elements.token.value });
    if (changed.card) body.set("card", corners.map((p) => p.join(",")).join(" "));
    if (bloom) body.set("bloom", bloom.join(","));
    if (changed.strokes) body.set("strokes", JSON.stringify(strokes));
    stage.classList.add("busy");
    own++;
    said.textContent = "Is measured…";
    measure.disabled = true;
    try {
      const r = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } });
      const a = await r.json();
      if (!r.ok) throw new Error(a.error);
      $("result").innerHTML = a.html;
      document.body.dataset.version = a.version;
      for (const id of ["outline", "outline-casing"]) $(id).setAttribute("d", a.outline);
      corners = cornersOf(a.corners) || corners;
      strokes = ((a.correction && JSON.parse(a.correction).strokes) || []).slice();
      bloom = null;
      changed = { card: false, strokes: false };
      $("reset").hidden = !a.correction;
      said.textContent = "Measured with what you pointed out, and kept so.";
      dirty = false;
    } catch (e) {
      said.textContent = e.message || "No connection. Try again.";
    }
    stage.classList.remove("busy");
    draw();
    own--;
    if (later) { heard(later); later = ""; }
  });
  draw();
}

// ---- The plane of a* and b*: another lightness without a new page.

function beginTarget() {
  const light = $("plane-l"), plane = $("plane");
  if (!light) return;
  $("plane-show").hidden = true;
  plane.parentElement.classList.add("wide");
  const side = Object.assign(document.createElement("input"), { type: "hidden", name: "side" });
  plane.form.append(side);
  plane.form.addEventListener("submit", () => { side.value = plane.clientWidth; });
  let later;
  light.addEventListener("input", () => {
    $("plane-l-out").textContent = light.value;
    clearTimeout(later);
    later = setTimeout(() => {
      plane.src = `/target/plane.png?L=${light.value}`;
      plane.alt = plane.alt.replace(/lightness [\d.]+/, `lightness ${light.value}`);
    }, 120);
  });
  light.addEventListener("change", () => { dirty = false; });
}

function begin() {
  armed = false;
  beginPhotos();
  beginPhoto();
  beginTarget();
}
begin();
