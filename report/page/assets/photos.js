"use strict";
// ---- Photos: taken here, kept on this device at once, and sent from there. One from the
// camera fills the screen with its answer; what comes next is at the thumb.

let shot = null; // the photo whose answer is on the screen

// A phone's camera can throw the page out of memory: the plant that was typed is then still there.
const again = document.wasDiscarded || performance.getEntriesByType("navigation")[0]?.type === "reload";
let typedBefore = (again && sessionStorage.getItem("plant")) || "";
document.addEventListener("visibilitychange", () => { if (document.hidden && $("add")) sessionStorage.setItem("plant", $("add").elements.plant.value); });

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
    await kept;
  };
  form.addEventListener("submit", (e) => { e.preventDefault(); take([...many.files, ...camera.files]); });
  camera.addEventListener("change", () => { if (camera.files.length) take([...camera.files]); });
  const named = () => { form.querySelector(".shutter span").textContent = `Photograph ${form.elements.plant.value.trim() || "a bloom"}`; };
  form.elements.plant.addEventListener("input", named);
  form.elements.plant.value ||= typedBefore;
  typedBefore = "";
  named();
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
  $("answer-wrong").hidden = $("answer-correct").hidden = !a.id;
  $("answer-wrong").href = `/photos/${a.id}#shows`;
  $("answer-correct").href = `/photos/${a.id}#tools`;
  of(a.plant);
});

// of says which plant the answer on the screen is of.
function of(plant) {
  $("answer").dataset.plant = plant || "";
  $("answer-decide").hidden = !plant;
  for (const b of $("answer-decide").querySelectorAll("button")) { b.value = `${plant} ${b.dataset.to}`; b.setAttribute("aria-pressed", "false"); }
}
// The question which plant it shows was answered there.
document.addEventListener("assigned", (e) => { if (!$("answer").hidden && document.querySelector(`#answer-card [data-photo="${e.detail.id}"]`)) of(e.detail.plant); });
