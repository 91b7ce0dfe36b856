"use strict";
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
