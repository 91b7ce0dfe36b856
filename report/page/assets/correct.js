"use strict";
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

begins.push(beginPhoto);
