"use strict";
// ---- One photo: card and petals corrected by touch. Each touch shows its new outline at
// once; "Measure again" keeps it.

function beginPhoto() {
  const stage = $("stage"), over = $("over"), frame = $("frame"), lens = $("lens");
  if (!stage) return;
  const form = $("correct"), tools = $("tools"), measure = $("measure"), unpaint = $("unpaint"), said = $("tool-said"), picture = stage.querySelector("img");
  const W = +stage.dataset.w, H = +stage.dataset.h;
  let kept = {};
  try { kept = JSON.parse($("correction").textContent || "{}") || {}; } catch { kept = {}; }
  let strokes = (kept.strokes || []).slice();
  let bloom = null, corners = cornersOf($("quad").getAttribute("points"));
  let tool = "", changed = { card: false, strokes: false };

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
  const brush = () => (+$("brush").value * Math.max(W, H)) / 200 / zoom;
  const round = (p) => p.map((v) => Math.round(v * 10) / 10);
  const unsent = () => !!(bloom || changed.card || changed.strokes);
  let last = { outline: $("outline").getAttribute("d"), corners: corners?.slice(), strokes: strokes.slice() }; // that is kept
  let marks = 0; // touches so far
  const trace = (d) => { for (const id of ["outline", "outline-casing"]) $(id).setAttribute("d", d); };

  function draw() {
    if (corners) for (const id of ["quad", "quad-casing"]) $(id).setAttribute("points", corners.map((p) => p.join(",")).join(" "));
    const handles = [];
    if (tool === "card" && corners) {
      corners.forEach((p, i) => {
        const h = make("circle", { class: "handle", cx: p[0], cy: p[1], r: Math.max(W, H) / 45 / zoom, tabindex: 0, role: "slider", "aria-label": `Corner ${i + 1} of the card`, "aria-valuenow": i + 1, "aria-valuetext": `${Math.round(p[0])}, ${Math.round(p[1])}` });
        h.dataset.corner = i;
        handles.push(h);
      });
    }
    if (bloom) handles.push(make("circle", { class: "handle", cx: bloom[0], cy: bloom[1], r: Math.max(W, H) / 70 / zoom }));
    $("handles").replaceChildren(...handles);
    $("strokes").replaceChildren(...(changed.strokes ? strokes : []).map((s) => {
      const pts = s.points.length > 1 ? s.points : [s.points[0], [s.points[0][0] + 0.1, s.points[0][1]]];
      return make("path", { class: `stroke ${s.in ? "in" : "out"}`, "stroke-width": 2 * s.radius, d: "M" + pts.map((p) => p.join(" ")).join("L") });
    }));
    unpaint.disabled = !strokes.length;
    measure.disabled = !unsent();
    armed = unsent() || !!tool;
  }

  // ---- What was pointed out so far, and its outline before it is kept.

  const body = () => {
    const b = new URLSearchParams({ token: form.elements.token.value, back: location.pathname });
    if (changed.card) b.set("card", corners.map((p) => p.join(",")).join(" "));
    if (bloom) b.set("bloom", bloom.join(","));
    if (changed.strokes) b.set("strokes", JSON.stringify(strokes));
    return b;
  };
  let asking = null;
  async function look() {
    if (asking) asking.abort();
    const mine = asking = new AbortController();
    try {
      const r = await fetch(form.action.replace(/correct$/, "outline"), { method: "POST", body: body(), headers: { Accept: "application/json" }, signal: mine.signal, redirect: "error" });
      const a = await r.json();
      if (asking !== mine) return;
      if (!r.ok) { said.textContent = a.error; return; }
      trace(a.outline);
      if (unsent()) said.textContent = `Now it reads ${a.name}${a.away ? `, ${a.away} from the target` : ""}. “Measure again” keeps it.`;
      stage.dataset.looked = String(+(stage.dataset.looked || 0) + 1);
    } catch { /* another touch has come, or there is no connection: "Measure again" says it */ }
  }

  // ---- The tools.

  const hints = {
    bloom: "Touch the middle of the bloom that is to be measured.",
    card: "Drag each corner onto the grey card, well inside its edge; with the keyboard, by the arrow keys.",
    in: "Paint over petals that were left out.",
    out: "Paint over what is not petal.",
  };
  function choose(name) {
    tool = name;
    for (const o of tools.querySelectorAll("[data-tool]")) o.setAttribute("aria-pressed", String(o.dataset.tool === tool));
    stage.classList.toggle("armed", !!tool);
    if (tool === "card" && !corners) {
      const m = Math.min(W, H) / 8;
      corners = [[W / 2 - m, H / 2 - m], [W / 2 + m, H / 2 - m], [W / 2 + m, H / 2 + m], [W / 2 - m, H / 2 + m]].map(round);
      changed.card = true;
    }
    if (tool) said.textContent = hints[tool];
    draw();
  }
  for (const b of tools.querySelectorAll("[data-tool]")) b.addEventListener("click", () => choose(tool === b.dataset.tool ? "" : b.dataset.tool));

  function show(on) {
    if (!on && unsent() && !confirm("Your marks have not been measured yet. Leave the page?")) return;
    if (!on && unsent()) {
      if (asking) asking.abort();
      trace(last.outline);
      [corners, strokes, bloom, changed] = [last.corners?.slice(), last.strokes.slice(), null, { card: false, strokes: false }];
    }
    tools.hidden = !on;
    $("acts").hidden = on;
    setZoom(1);
    choose(on ? "bloom" : "");
    if (!on) return $("correct-now").focus({ preventScroll: true });
    tools.querySelector("button").focus({ preventScroll: true });
    look(); // opens the photo on the server, so that the first touch is as fast as the next
    frame.scrollIntoView({ block: "start" });
  }
  $("correct-now").addEventListener("click", (e) => { e.preventDefault(); show(true); });
  $("leave").addEventListener("click", () => show(false));
  tools.addEventListener("keydown", (e) => { if (e.key === "Escape") show(false); });
  unpaint.addEventListener("click", () => { marks++; strokes.pop(); changed.strokes = true; draw(); look(); });

  // ---- Nearer: by the button, or with two fingers.

  let zoom = 1;
  function setZoom(z, x, y) { // x, y: a place of the frame that stays where it is
    z = Math.min(6, Math.max(1, z));
    x ??= frame.clientWidth / 2;
    y ??= frame.clientHeight / 2;
    const u = (frame.scrollLeft + x) / zoom, v = (frame.scrollTop + y) / zoom;
    zoom = z;
    stage.style.width = `${100 * z}%`;
    frame.scrollTo(u * z - x, v * z - y);
    $("zoom").textContent = `${Math.round(z * 10) / 10}×`;
    draw();
  }
  $("zoom").addEventListener("click", () => {
    const c = bloom || (corners && tool === "card" ? corners[0] : null);
    setZoom(zoom >= 4 ? 1 : zoom >= 2 ? 4 : 2);
    if (c && zoom > 1) frame.scrollTo((c[0] / W) * stage.clientWidth - frame.clientWidth / 2, (c[1] / H) * stage.clientHeight - frame.clientHeight / 2);
  });

  // The magnifier stands beside the finger, on the side where there is room.
  function magnify(e) {
    lens.hidden = !e;
    if (!e) return;
    const b = picture.getBoundingClientRect(), side = lens.offsetWidth, k = 3;
    const x = e.clientX - b.left, y = e.clientY - b.top;
    lens.style.backgroundImage = `url("${picture.currentSrc}")`;
    lens.style.backgroundSize = `${b.width * k}px ${b.height * k}px`;
    lens.style.backgroundPosition = `${side / 2 - x * k}px ${side / 2 - y * k}px`;
    const left = e.clientX > innerWidth / 2 ? e.clientX - side - 40 : e.clientX + 40;
    lens.style.left = `${Math.min(Math.max(left, 4), innerWidth - side - 4)}px`;
    lens.style.top = `${Math.min(Math.max(e.clientY - side - 20, 4), innerHeight - side - 4)}px`;
  }

  const fingers = new Map();
  let grip = -1, stroke = null, touching = false, spread = null;
  const drop = () => { // a second finger has come: what the first began was no stroke
    if (stroke) strokes.pop();
    stroke = null; grip = -1; touching = false;
    magnify(null);
  };
  // Where the browser takes a stroke for the beginning of a scroll, it takes the tap after it for the end of that.
  over.addEventListener("touchstart", (e) => { if (tool) e.preventDefault(); }, { passive: false });
  over.addEventListener("pointerdown", (e) => {
    if (!tool) return;
    e.preventDefault();
    over.setPointerCapture(e.pointerId);
    fingers.set(e.pointerId, e);
    if (fingers.size === 2) {
      drop();
      const [a, b] = [...fingers.values()];
      spread = { far: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY), zoom, x: (a.clientX + b.clientX) / 2, y: (a.clientY + b.clientY) / 2 };
      return;
    }
    if (fingers.size > 2) return;
    touching = true;
    marks++;
    const p = round(at(e));
    if (tool === "bloom") bloom = p;
    else if (tool === "card") {
      let near = Infinity;
      corners.forEach((c, i) => { const d = Math.hypot(c[0] - p[0], c[1] - p[1]); if (d < near) { near = d; grip = i; } });
      corners[grip] = p;
      changed.card = true;
    } else {
      stroke = { in: tool === "in", radius: Math.max(1, Math.round(brush())), points: [p] };
      strokes.push(stroke);
      changed.strokes = true;
    }
    magnify(e);
    draw();
  });
  over.addEventListener("pointermove", (e) => {
    if (fingers.has(e.pointerId)) fingers.set(e.pointerId, e);
    if (spread && fingers.size === 2) {
      const [a, b] = [...fingers.values()], box = frame.getBoundingClientRect();
      const x = (a.clientX + b.clientX) / 2, y = (a.clientY + b.clientY) / 2;
      frame.scrollBy(spread.x - x, spread.y - y);
      setZoom((spread.zoom * Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY)) / spread.far, x - box.left, y - box.top);
      Object.assign(spread, { x, y });
      return;
    }
    if (!touching) return;
    const p = round(at(e));
    if (grip >= 0) corners[grip] = p;
    else if (stroke) {
      const last = stroke.points[stroke.points.length - 1];
      if (stroke.points.length < 1500 && Math.hypot(p[0] - last[0], p[1] - last[1]) > stroke.radius / 4) stroke.points.push(p);
    } else bloom = p;
    magnify(e);
    draw();
  });
  for (const end of ["pointerup", "pointercancel"]) {
    over.addEventListener(end, (e) => {
      fingers.delete(e.pointerId);
      if (fingers.size < 2) spread = null;
      const was = touching;
      grip = -1; stroke = null; touching = false;
      magnify(null);
      if (was) look();
    });
  }
  over.addEventListener("keydown", (e) => {
    const i = e.target.dataset && e.target.dataset.corner;
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (i === undefined || !step) return;
    e.preventDefault();
    const far = (e.shiftKey ? 1 : 8) * (Math.max(W, H) / 1000);
    marks++;
    corners[i] = round([clamp(corners[i][0] + step[0] * far, W), clamp(corners[i][1] + step[1] * far, H)]);
    changed.card = true;
    draw();
    $("handles").querySelector(`[data-corner="${i}"]`).focus();
  });

  // measured shows what was measured so. What was pointed out since is not measured yet, and stays.
  function measured(a, all) {
    if (!a.html) return refresh(true).catch(() => {}); // it was taken before
    $("result").innerHTML = a.html;
    $("reset").hidden = !a.correction;
    last = { outline: a.outline, corners: cornersOf(a.corners), strokes: (a.correction && JSON.parse(a.correction).strokes) || [] };
    if (all) {
      trace(a.outline);
      [corners, strokes, bloom, changed] = [last.corners?.slice() || corners, last.strokes.slice(), null, { card: false, strokes: false }];
    }
    draw();
  }
  measure.addEventListener("click", async () => {
    const sent = body(), so = marks;
    if (asking) asking.abort();
    asking = null;
    stage.classList.add("busy");
    said.textContent = "Measuring…";
    measure.disabled = true;
    try {
      const a = await post(form.getAttribute("action"), sent, `Marks on ${stage.dataset.name}`);
      if (!a.waits) measured(a, so === marks);
      else if (so === marks) [bloom, changed] = [null, { card: false, strokes: false }]; // it is kept here
      said.textContent = a.waits ? a.text : so === marks ? "Measured with your marks, and kept." : "Measured and kept, but without the marks you made since.";
    } catch (e) {
      said.textContent = e.message;
    }
    stage.classList.remove("busy");
    draw();
  });
  keptOf = (item, a) => { if (item.path === form.getAttribute("action")) measured(a, !unsent()); };
  unsentOf = unsent;
  draw();
  if (location.hash === "#tools") show(true);
}

let unsentOf = () => false, keptOf = () => {};
document.addEventListener("kept", (e) => keptOf(e.detail.item, e.detail.answer)); // what waited, measured meanwhile
addEventListener("beforeunload", (e) => { if (unsentOf()) e.preventDefault(); });
addEventListener("hashchange", () => { if (location.hash === "#tools" && $("tools") && $("tools").hidden) $("correct-now").click(); });

begins.push(beginPhoto);
