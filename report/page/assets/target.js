"use strict";
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
      plane.src = plane.src.replace(/L=[\d.]+/, `L=${light.value}`);
      plane.alt = plane.alt.replace(/lightness [\d.]+/, `lightness ${light.value}`);
    }, 120);
  });
}

begins.push(beginTarget);
