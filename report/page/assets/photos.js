"use strict";
// ---- Photos: taken here, kept on this device at once, and sent from there. One from the
// camera fills the screen with its answer; what comes next is at the thumb.

let shot = null; // the photo whose answer is on the screen

begins.push(() => {
  const form = $("add");
  if (!form) return;
  const camera = $("camera"), many = form.querySelector("input[multiple]");
  const take = async (files) => {
    if (!files.length) return say("Choose photos first, or take one.", true);
    const plant = form.elements.plant.value.trim();
    if (files.length === 1 && camera.files.length) answering(files[0], plant);
    const kept = waits.photos(files, plant);
    camera.value = many.value = "";
    // The next photo may be of another plant: it is said anew, or "Again" is chosen.
    form.elements.plant.value = "";
    form.querySelector(".shutter span").textContent = "Photograph a bloom";
    history.replaceState(null, "", location.pathname);
    dirty = false;
    await kept;
  };
  form.addEventListener("submit", (e) => { e.preventDefault(); take([...many.files, ...camera.files]); });
  camera.addEventListener("change", () => { if (camera.files.length) take([...camera.files]); });
  form.elements.plant.addEventListener("input", () => { form.querySelector(".shutter span").textContent = `Photograph ${form.elements.plant.value.trim() || "a bloom"}`; });
  $("answer-close").addEventListener("click", closeAnswer);
  $("answer-again").addEventListener("click", () => {
    form.elements.plant.value = $("answer").dataset.plant || "";
    camera.click();
  });
  $("answer").addEventListener("keydown", (e) => { if (e.key === "Escape") closeAnswer(); });
});

// answering shows at once that the photo is here, with what it may be followed by.
function answering(file, plant) {
  shot = file;
  const pic = Object.assign(document.createElement("img"), { src: URL.createObjectURL(file), alt: "The photo that was taken" });
  const row = Object.assign(document.createElement("li"), { className: "card" });
  const words = Object.assign(document.createElement("p"), { className: "lead", textContent: "Measuring…" });
  words.setAttribute("role", "status");
  row.append(words, pic);
  $("answer-card").replaceChildren(row);
  $("answer").dataset.plant = plant;
  for (const id of ["answer-wrong", "answer-correct", "answer-decide"]) $(id).hidden = true;
  $("answer").hidden = false;
  document.documentElement.classList.add("answered");
  $("answer").focus();
}

function closeAnswer() {
  shot = null;
  $("answer").hidden = true;
  document.documentElement.classList.remove("answered");
  $("camera").focus({ preventScroll: true });
  if (!$("news").hidden && !busy()) refresh().catch(() => {}); // what came meanwhile
}

document.addEventListener("kept", (e) => {
  const { item, answer: a } = e.detail;
  if (item.kind !== "photo" || !$("recent")) return;
  const old = a.id && document.querySelector(`#recent [data-photo="${a.id}"]`);
  if (old) old.remove();
  $("recent").insertAdjacentHTML("afterbegin", a.html);
  if (!shot || item.file !== shot) return;
  $("answer-card").innerHTML = a.html;
  $("answer").dataset.plant = a.plant || "";
  $("answer-wrong").hidden = $("answer-correct").hidden = !a.id;
  $("answer-wrong").href = `/photos/${a.id}#shows`;
  $("answer-correct").href = `/photos/${a.id}#tools`;
  $("answer-decide").hidden = !a.plant;
  for (const b of $("answer-decide").querySelectorAll("button")) { b.value = `${a.plant} ${b.dataset.to}`; b.setAttribute("aria-pressed", "false"); }
});
