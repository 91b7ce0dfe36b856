"use strict";
// ---- Photos: taken here, kept on this device at once, and sent from there.

begins.push(() => {
  const form = $("add");
  if (!form) return;
  const inputs = form.querySelectorAll("input[type=file]");
  const take = async () => {
    const files = [...inputs].flatMap((i) => [...i.files]);
    if (!files.length) return say("Choose photos first, or take one.", true);
    const kept = waits.photos(files, form.elements.plant.value.trim());
    for (const i of inputs) i.value = "";
    // The next photo may be of another plant: it is said anew, or "Again" is chosen.
    form.elements.plant.value = "";
    history.replaceState(null, "", location.pathname);
    dirty = false;
    await kept;
  };
  form.addEventListener("submit", (e) => { e.preventDefault(); take(); });
  inputs[1].addEventListener("change", () => { if (inputs[1].files.length) take(); });
});

document.addEventListener("kept", (e) => {
  const { item, answer: a } = e.detail;
  if (item.kind !== "photo" || !$("recent")) return;
  const old = a.id && document.querySelector(`#recent [data-photo="${a.id}"]`);
  if (old) old.remove();
  $("recent").insertAdjacentHTML("afterbegin", a.html);
});
