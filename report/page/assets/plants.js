"use strict";
// ---- Plants: a decision by one touch, without losing one's place in the list. It shows at
// once, and goes back if the book refuses it. A second touch of the same button does nothing.

document.addEventListener("submit", async (e) => {
  const form = e.target, pressed = e.submitter;
  if (!form.hasAttribute("data-decide") && form.id !== "act" || !pressed) return;
  e.preventDefault();
  if (pressed.getAttribute("aria-pressed") === "true") return;
  const row = pressed.closest("li, .decide"), before = [...row.querySelectorAll("button[aria-pressed]")].map((b) => [b, b.getAttribute("aria-pressed")]);
  for (const [b] of before) b.setAttribute("aria-pressed", String(b === pressed));
  const token = form.elements.token.value, back = form.elements.back.value;
  try {
    const a = await post("/status", new URLSearchParams({ token, set: pressed.value }), pressed.ariaLabel || pressed.value);
    if (a.row && row.id && row.closest("#rows")) {
      const set = pressed.value;
      row.insertAdjacentHTML("afterend", a.row);
      const fresh = row.nextElementSibling, focused = row.contains(document.activeElement);
      row.remove();
      if (focused) fresh.querySelector(`button[value="${CSS.escape(set)}"]`).focus({ preventScroll: true });
    } else if ($("standing")) {
      $("standing").textContent = pressed.value.split(" ")[1].replace("-", " ");
    }
    done(a, token, row.id ? `${back}#${row.id}` : back);
  } catch (err) {
    for (const [b, was] of before) b.setAttribute("aria-pressed", was);
    say(err.message, true);
  }
});

// ---- The filter works while somebody types, as the server's does (report/page/find).

const spelt = { ä: "ae", ö: "oe", ü: "ue", ß: "ss", æ: "ae", ø: "oe", å: "aa" };
const bare = (s) => s.toLowerCase().normalize("NFD").replace(/\p{Mn}/gu, "").trim().replace(/\s+/g, " ").replace(/(^|\D)0+/g, "$1");
const spell = (s) => bare(s.toLowerCase().normalize("NFC").replace(/[äöüßæøå]/g, (c) => spelt[c]));
const unspell = (s) => s.replace(/([aou])e|aa/g, (m) => m[0]);
const keysOf = (s) => { const p = spell(s); return [p, bare(s), unspell(p)]; };
const hasKeys = (name, typed) => name.some((k, i) => k.includes(typed[i]));

begins.push(() => {
  const field = $("sift"), rows = $("rows");
  if (!field) return;
  let keys = null, asked = 0;
  const sift = () => {
    asked = 0;
    const others = $("others");
    keys ||= [...document.querySelectorAll("#rows li, #others li")].map((li) => [li, keysOf(li.querySelector("a").textContent), !!li.closest("#rows")]);
    const typed = keysOf(field.value), any = field.value.trim() !== "", lots = new Map();
    let n = 0, also = 0;
    for (const k of keys) {
      if (!k[0].isConnected) { // a decision has put another in its place
        const now = k[2] && $(k[0].id);
        if (!now) continue;
        k[0] = now;
      }
      const shown = !any || hasKeys(k[1], typed);
      if (k[0].hidden === shown) k[0].hidden = !shown;
      if (shown) k[2] ? n++ : also++;
      if (k[2]) lots.set(k[0].parentNode, (lots.get(k[0].parentNode) || 0) + shown);
    }
    for (const [lot, of] of lots) { // what is out of sight is as high as its rows
      lot.hidden = !of;
      lot.style.setProperty("--n", of);
    }
    if (others) others.hidden = !any || !also;
    $("n-plants").textContent = `${n} ${n === 1 ? "plant" : "plants"}`;
  };
  field.addEventListener("input", () => { asked ||= requestAnimationFrame(sift); });
  const lists = [...field.form.querySelectorAll("select")];
  field.form.addEventListener("submit", (e) => { if (rows && !lists.some(changed)) { e.preventDefault(); field.blur(); } });
  lists.forEach(whenChosen);
  if (field.value !== field.defaultValue) sift(); // typed before the list was fetched anew
});
