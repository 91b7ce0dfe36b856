"use strict";
// ---- Names are offered where a plant is typed; they are fetched when somebody first does.

let knownNames = null;

document.addEventListener("focusin", async (e) => {
  if (!e.target.matches("input[list=known]")) return;
  knownNames ||= fetch("/known").then((r) => (r.ok ? r.text() : "")).catch(() => "");
  const list = $("known"), names = (await knownNames).split("\n").filter(Boolean);
  if (!list.childElementCount) list.append(...names.map((n) => Object.assign(document.createElement("option"), { value: n })));
});
