"use strict";
// ---- Names are offered where a plant is typed; they are fetched when somebody first does, and asked for again where that failed.

let knownNames = null;

async function offerNames(field) {
  if (!field?.matches("input[list=known]")) return;
  knownNames ||= fetch("/known").then((r) => (r.ok ? r.text() : "")).catch(() => "");
  const list = $("known"), names = (await knownNames).split("\n").filter(Boolean);
  if (!names.length) knownNames = null;
  if (!list.childElementCount) list.append(...names.map((n) => Object.assign(document.createElement("option"), { value: n })));
}

document.addEventListener("focusin", (e) => offerNames(e.target));
offerNames(document.activeElement); // who was quicker than this script
