"use strict";
// ---- Today: ticked in place. A tick shows at once, and goes again if the book refuses it.

document.addEventListener("submit", async (e) => {
  const form = e.target.closest("form[data-tick]"), pressed = e.submitter;
  if (!form || !pressed) return;
  e.preventDefault();
  if (pressed.getAttribute("aria-disabled")) return; // ticked already
  const names = pressed.value.split(" ");
  const ticked = [...form.querySelectorAll("button")].filter((b) => !b.hasAttribute("aria-disabled") && b.value.split(" ").some((n) => names.includes(n)));
  const left = names.filter((n) => [...form.querySelectorAll("button")].some((b) => b.value === n && !b.hasAttribute("aria-disabled")));
  const body = new URLSearchParams(new FormData(form));
  body.set("subject", (left.length ? left : names).join(" "));
  const mark = (on) => {
    for (const b of ticked) {
      if (on) b.setAttribute("aria-disabled", "true");
      else b.removeAttribute("aria-disabled");
    }
    form.closest("li").classList.toggle("ticked", !form.closest("li").querySelector("button:not([aria-disabled])"));
  };
  // The button for all stays while some are left.
  const all = ticked.findIndex((b) => b.value.includes(" "));
  if (all >= 0 && !pressed.value.includes(" ") && [...form.querySelectorAll("button")].some((b) => !b.value.includes(" ") && !ticked.includes(b) && !b.hasAttribute("aria-disabled"))) ticked.splice(all, 1);
  mark(true);
  try {
    const a = await post(form.getAttribute("action"), body, pressed.ariaLabel);
    done(a, form.elements.token.value, form.elements.back.value);
  } catch (err) {
    mark(false);
    say(err.message, true);
  }
});
