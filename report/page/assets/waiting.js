"use strict";
// ---- What was entered waits on this device until the server has said that it has it: in
// IndexedDB, which outlives the page, its tab and the browser. Each thing carries an id by
// which the server knows it again, so that it may be sent as often as it takes.

const waits = (() => {
  const book = document.body.dataset.book || "";
  const el = (id) => document.getElementById(id);
  const make = (tag, props, ...kids) => { const e = Object.assign(document.createElement(tag), props); e.append(...kids); return e; };
  const count = (n, what) => `${n} ${n === 1 ? what : `${what}s`.replace(/ys$/, "ies")}`;
  const newId = () => [...crypto.getRandomValues(new Uint8Array(20))].map((b) => "abcdefghijklmnopqrstuvwxyz234567"[b & 31]).join("");
  let token = (document.querySelector("input[name=token]") || {}).value || "";

  // ---- The store.

  let opening = null, fragile = false; // fragile: this browser keeps nothing
  const open = () => new Promise((ok, no) => {
    const r = indexedDB.open("hueward", 1);
    r.onupgradeneeded = () => { r.result.createObjectStore("waiting", { keyPath: "id" }); r.result.createObjectStore("tally", { keyPath: "book" }); };
    r.onsuccess = () => { r.result.onversionchange = () => { r.result.close(); opening = null; }; ok(r.result); };
    r.onerror = r.onblocked = () => no(r.error);
  });
  // run does something in one transaction, and comes back when it is on the disk.
  const run = async (f) => {
    const db = await (opening ||= open());
    return new Promise((ok, no) => {
      const t = db.transaction(["waiting", "tally"], "readwrite", { durability: "strict" });
      t.oncomplete = () => ok(out.result);
      t.onerror = t.onabort = () => no(t.error);
      const out = f(t.objectStore("waiting"), t.objectStore("tally")) || {};
    });
  };
  const items = new Map(); // by id; what the store holds of this book
  const live = new Map(); // by id: what this page knows besides: row, tries, under way, who listens
  let tally = { book, done: 0, unread: 0 }, elsewhere = 0;

  const add = async (list) => {
    try {
      await run((w) => { for (const i of list) w.put(i); });
    } catch {
      fragile = true;
    }
    for (const i of list) items.set(i.id, i);
    pause = 0;
    pump();
  };
  // finish forgets what the server has; what is the number that it counts to.
  const finish = async (item, what) => {
    if (what) tally[what]++;
    items.delete(item.id);
    live.get(item.id)?.row?.remove();
    live.delete(item.id);
    await run((w, t) => {
      const g = w.get(item.id);
      g.onsuccess = () => {
        if (!g.result) return; // another tab has counted it
        w.delete(item.id);
        const n = t.get(book);
        n.onsuccess = () => { const v = n.result || { book, done: 0, unread: 0 }; if (what) v[what]++; t.put(v); };
      };
    }).catch(() => {});
  };
  const refuse = async (item, why) => {
    const said = { ...item, state: "refused", why };
    await run((w) => { w.put(said); }).catch(() => {});
    live.get(item.id)?.row?.remove();
    live.delete(item.id);
    items.set(item.id, said);
    show();
  };

  // ---- Sending: forms in their order, photos two at a time.

  const atOnce = 2;
  let pause = 0, failures = 0, alarm = 0, held = "";
  const of = (item) => { let l = live.get(item.id); if (!l) live.set(item.id, l = { tries: 0 }); return l; };
  const queued = (kind) => [...items.values()].filter((i) => i.kind === kind && i.state === "waits").sort((a, b) => a.n - b.n);
  const under = (kind) => queued(kind).filter((i) => of(i).busy).length;

  function pump() {
    show();
    if (!token || held || Date.now() < pause) return;
    const form = queued("form")[0];
    if (form && !of(form).busy) send(form);
    for (const p of queued("photo")) if (under("photo") < atOnce && !of(p).busy) send(p);
  }

  async function send(item) {
    const l = of(item);
    l.busy = true;
    l.tries++;
    let a;
    try {
      a = await (item.kind === "photo" ? sendPhoto(item, l) : sendForm(item));
    } catch {
      a = { status: 0 };
    }
    await settle(item, l, a);
    l.busy = false;
    pump();
  }

  const sendForm = async (item) => {
    const stop = new AbortController(), late = setTimeout(() => stop.abort(), 30000);
    try {
      const ago = Math.max(0, Math.round((Date.now() - item.n) / 1000)); // what waited overnight was done yesterday
      const body = new URLSearchParams([["token", token], ["request", item.id], ["ago", ago], ...item.fields]);
      const r = await fetch(item.path, { method: "POST", body, headers: { Accept: "application/json" }, redirect: "error", signal: stop.signal });
      return { status: r.status, answer: await r.json().catch(() => null) };
    } finally {
      clearTimeout(late);
    }
  };

  const sendPhoto = (item, l) => new Promise((ok) => {
    const form = new FormData(), x = new XMLHttpRequest();
    for (const [k, v] of [["token", token], ["request", item.id], ["plant", item.plant]]) form.append(k, v);
    form.append("photo", item.file, item.name);
    let late = 0;
    const moves = () => { clearTimeout(late); late = setTimeout(() => x.abort(), 180000); };
    const end = (v) => { clearTimeout(late); ok(v); };
    x.open("POST", "/photos");
    x.setRequestHeader("Accept", "application/json");
    x.upload.onprogress = (e) => {
      moves();
      if (!e.lengthComputable || !l.bar) return;
      l.bar.value = e.loaded / e.total;
      l.words.textContent = e.loaded < e.total ? `${Math.round((100 * e.loaded) / e.total)} % sent` : "is measured";
    };
    x.onerror = x.onabort = x.ontimeout = () => end({ status: 0 });
    x.onload = () => {
      let answer = null;
      try { answer = JSON.parse(x.responseText); } catch { /* no answer of ours */ }
      end({ status: x.status, answer });
    };
    moves();
    x.send(form);
  });

  async function settle(item, l, { status, answer }) {
    if (status === 200 && answer && item.kind === "photo" && answer[0]) {
      failures = 0;
      const a = answer[0];
      if (!a.id && a.status !== "gone") return refuse(item, a.reason);
      await finish(item, a.status === "refused" ? "unread" : "done");
      return tell("kept", { item, answer: a });
    }
    if (status === 200 && answer && answer.done) {
      failures = 0;
      await finish(item);
      if (l.ok) return l.ok(answer);
      return tell("kept", { item, answer });
    }
    if (status === 401 || (status === 200 && !answer)) { // asked for the code
      held = "This device is not let in any more.";
      return l.ok?.({ waits: true, text: "This waits here until the device is let in again." });
    }
    if (status === 403 && l.tries < 3) {
      return know().catch(() => {});
    }
    if (answer && answer.error && status >= 400 && status < 500 && status !== 408 && status !== 429) {
      failures = 0;
      if (!l.no) return refuse(item, answer.error);
      await finish(item); // the page that it was entered on still has it
      return l.no(Object.assign(new Error(answer.error), { answer }));
    }
    // No connection, or the server's own trouble: as often as it takes.
    if (Date.now() >= pause) failures++; // two that failed at once are one
    pause = Date.now() + 1000 * Math.min(30, 2 ** Math.min(failures, 5));
    clearTimeout(alarm);
    alarm = setTimeout(pump, pause - Date.now() + 20);
    if (l.bar) l.bar.value = 0;
    l.ok?.({ waits: true, text: "No connection: this waits here, and is sent by itself." });
    l.ok = l.no = null;
  }

  const tell = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));

  // know asks which of those that wait the server has: their answer was lost on the way.
  async function know() {
    const ids = [...items.values()].filter((i) => i.state === "waits").map((i) => i.id);
    const r = await fetch("/taken?" + ids.slice(0, 100).map((i) => `id=${i}`).join("&"), { headers: { Accept: "application/json" }, redirect: "error" });
    if (r.status === 401) { held = "This device is not let in any more."; return; }
    if (!r.ok) return;
    const a = await r.json();
    token = a.token;
    for (const id of a.taken) {
      const item = items.get(id);
      if (item && !of(item).busy) await finish(item, item.kind === "photo" ? "done" : "");
    }
  }

  // ---- What is seen of it.

  function show() {
    const box = el("sending");
    if (!box) return;
    const photos = queued("photo"), forms = queued("form"), refused = [...items.values()].filter((i) => i.state === "refused").sort((a, b) => a.n - b.n);
    const n = photos.length + forms.length, bad = refused.filter((i) => i.kind === "photo").length, done = tally.done + tally.unread;
    box.hidden = !n && !refused.length && !done && !elsewhere;
    const parts = [];
    if (photos.length) parts.push(count(photos.length, "photo"));
    if (forms.length) parts.push(count(forms.length, "entry"));
    let text = n ? `${parts.join(" and ")} to go` : done ? "All sent" : "";
    if (done) text += `${n ? ", " : ": "}${tally.done} done`;
    if (tally.unread) text += `, ${tally.unread} kept without a reading`;
    if (bad) text += `${text ? ", " : ""}${bad} not taken: see below`;
    el("sending-all").textContent = text ? text + "." : "";
    for (const c of document.querySelectorAll(".waiting-n")) { c.hidden = !n && !refused.length; c.replaceChildren(`${n + refused.length}`, make("span", { className: "only-read", textContent: " waiting" })); }
    let note = held;
    if (n && !token && !held) note = "This device has to be let in first. Nothing is lost: what waits is sent then.";
    if (held && n) note += ` Nothing is lost: ${count(n, "thing")} wait${n === 1 ? "s" : ""} here.`;
    if (fragile && n) note += " This browser cannot keep what waits: leave the page open until all is sent.";
    if (elsewhere) note += ` ${count(elsewhere, "thing")} of another book wait${elsewhere === 1 ? "s" : ""} on this device, until that is served here again.`;
    const held2 = el("sending-held");
    held2.hidden = !note;
    const acts = [];
    if (held) acts.push(make("a", { href: "/join", textContent: "Let it in again" }));
    if (elsewhere && token) acts.push(make("button", { type: "button", className: "plain", textContent: "Send it to this book", onclick: adopt }));
    held2.replaceChildren(note.trim(), " ", ...acts);
    for (const i of [...forms, ...photos]) {
      const l = of(i);
      if (!l.row) {
        l.words = make("span", { className: "quiet" });
        l.row = make("li", {}, make("b", { className: "file", textContent: i.words }), " ", l.words);
        if (i.kind === "photo") { l.bar = make("progress", { max: 1, value: 0 }); l.bar.setAttribute("aria-label", i.name); l.row.append(l.bar); }
        el("queue").append(l.row);
      }
      if (!l.busy) l.words.textContent = failures ? `no connection; tries again in ${Math.max(1, Math.ceil((pause - Date.now()) / 1000))} s` : "waits";
    }
    el("sending-list").hidden = !n;
    const rows = refused.map(refusedRow), list = el("refused");
    if (rows.length !== list.children.length || rows.some((r, i) => r !== list.children[i])) list.replaceChildren(...rows); // else whoever types in one is left alone
  }

  // adopt takes what waits for another book for this one's: it may be the same, restored.
  async function adopt() {
    const all = await run((w) => w.getAll()).catch(() => []);
    elsewhere = 0;
    await add(all.filter((i) => i.book !== book).map((i) => ({ ...i, book })));
  }

  function refusedRow(item) {
    const l = of(item);
    if (l.refusedRow) return l.refusedRow;
    const what = make("div", {}, make("p", {}, make("b", { className: "file", textContent: item.words }), " ", make("b", { textContent: "Not taken." }), " ", item.why || ""));
    const acts = make("div", { className: "acts" });
    let plant = null;
    if (item.kind === "photo") {
      what.prepend(make("img", { src: URL.createObjectURL(item.file), alt: item.name, width: 96 }));
      plant = make("input", { value: item.plant, size: 8, autocomplete: "off" });
      acts.append(make("label", {}, "Plant ", plant));
    }
    const again = make("button", { type: "button", textContent: "Send again" }), away = make("button", { type: "button", className: "plain", textContent: "Throw away" });
    again.addEventListener("click", async () => {
      const next = { ...item, id: newId(), state: "waits", why: "" };
      if (plant) next.plant = plant.value.trim();
      await add([next]); // first the new one: nothing is lost between
      await finish(item);
      show();
    });
    away.addEventListener("click", async () => {
      if (!away.dataset.sure) { away.dataset.sure = "1"; away.textContent = "Throw it away for good"; return; }
      await finish(item);
      show();
    });
    acts.append(again, away);
    return l.refusedRow = make("li", {}, what, acts);
  }

  if (el("sending-list")) el("sending-list").open = document.body.dataset.page === "photos";
  let last = 0;
  const item = (more) => ({ id: newId(), n: last = Math.max(Date.now(), last + 1), book, state: "waits", why: "", ...more });

  // ---- The beginning: what waits from earlier.

  const started = (async () => {
    try {
      const all = await run((w) => w.getAll());
      for (const i of all) if (i.book === book) items.set(i.id, i); else elsewhere++;
      tally = await run((w, t) => t.get(book)) || tally;
    } catch {
      fragile = true;
    }
    if (!queued("photo").length) { // what was done earlier was told then
      tally = { book, done: 0, unread: 0 };
      run((w, t) => { t.put({ ...tally }); }).catch(() => {});
    }
    if (token && queued("form").length + queued("photo").length) await know().catch(() => {});
    pump();
  })();
  const now = () => { pause = 0; held = ""; if (!document.hidden) started.then(pump); };
  for (const e of ["online", "pageshow", "focus"]) addEventListener(e, now);
  document.addEventListener("visibilitychange", now);
  addEventListener("beforeunload", (e) => { if (fragile && queued("photo").length + queued("form").length) e.preventDefault(); });

  return {
    // photos keeps photos here and sends them; it comes back when they are kept.
    async photos(files, plant) {
      await started;
      await add([...files].map((file) => item({ kind: "photo", file, name: file.name, plant, words: plant ? `${file.name}, ${plant}` : file.name })));
    },
    // form sends a form, and returns what is answered, or that it waits; it throws with the
    // book's own words where it was refused.
    async form(path, body, words) {
      await started;
      const one = item({ kind: "form", path, words: words || path, fields: [...body].filter(([k]) => k !== "token" && k !== "request") });
      const heard = new Promise((ok, no) => { live.set(one.id, { tries: 0, ok, no }); });
      if (held || !token) live.get(one.id).ok({ waits: true, text: "This waits here until the device is let in again." });
      await add([one]);
      return heard;
    },
    sending: () => under("photo"),
    token: () => token,
    done: () => tally.done + tally.unread,
    started,
  };
})();
