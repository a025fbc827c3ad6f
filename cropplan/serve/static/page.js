// Answers are kept on the phone until the house has taken them. The page works without this.
"use strict";

(() => {
  const root = document.body.dataset.root;
  const KEPT = `kept:${root}`;
  const REFUSED = `refused:${root}`;
  const CLOCK = `clock:${root}`;
  const AGAIN_AFTER = 20000;
  const PATIENCE = 15000;

  const read = (name, otherwise) => {
    try {
      return JSON.parse(localStorage.getItem(name)) ?? otherwise;
    } catch {
      return otherwise;
    }
  };
  const keep = (name, value) => localStorage.setItem(name, JSON.stringify(value));

  // The house's day, not the phone's: a phone's clock may be wrong, and its zone another.
  // A page shown again from the store was made long ago, so its moment is taken only once.
  const now = Number(document.body.dataset.now);
  if (read(CLOCK, {}).now !== now) keep(CLOCK, { now, ahead: now - Date.now() });
  const houseDay = () => {
    const moment = new Date(Date.now() + read(CLOCK, { ahead: 0 }).ahead);
    const parts = new Intl.DateTimeFormat("en-GB", {
      timeZone: document.body.dataset.zone, year: "numeric", month: "2-digit", day: "2-digit",
    }).formatToParts(moment);
    const part = (kind) => parts.find((one) => one.type === kind).value;
    return `${part("year")}-${part("month")}-${part("day")}`;
  };

  const newName = () =>
    Array.from(crypto.getRandomValues(new Uint8Array(16)), (n) => n.toString(16).padStart(2, "0")).join("");

  // What is kept ---------------------------------------------------------------------------

  const waiting = () => read(KEPT, []);
  const forget = (name) => keep(KEPT, waiting().filter((one) => one.name !== name));

  const fieldsOf = (form) => {
    const fields = [...new FormData(form)].filter(([name]) => name !== "tick");
    const name = newName();
    return { name, fields: [...fields, ["tick", name], ["day", houseDay()]] };
  };
  const valueOf = (one, field) => (one.fields.find(([name]) => name === field) ?? [])[1];

  // What is shown --------------------------------------------------------------------------

  const element = (kind, words, marks = {}) => Object.assign(document.createElement(kind), { textContent: words, ...marks });

  const showSignal = () => {
    const bar = document.getElementById("signal");
    const count = waiting().length;
    const refused = read(REFUSED, []);
    bar.hidden = count === 0 && refused.length === 0;
    bar.replaceChildren();
    if (count) bar.append(element("p", `${count} ${count === 1 ? "answer waits" : "answers wait"} for signal; kept on this phone.`));
    for (const one of refused) {
      const line = element("p", `Not written: ${one.handle ? `${one.handle}: ` : ""}${one.why} `);
      const away = element("button", "I have read this", { type: "button" });
      away.addEventListener("click", () => {
        keep(REFUSED, read(REFUSED, []).filter((other) => other.name !== one.name));
        showSignal();
      });
      line.append(away);
      bar.append(line);
    }
  };

  const refresh = () => {
    document.querySelectorAll(".waiting").forEach((mark) => mark.remove());
    document.querySelectorAll("[data-handle] .done").forEach((button) => { button.disabled = false; });
    const spoken = { done: "Ticked", skip: "Skipped", later: "Put off", seen: "Seen", struck: "Struck", "set-out": "Set out" };
    for (const one of waiting()) {
      const line = document.querySelector(`[data-handle="${CSS.escape(valueOf(one, "handle") ?? "")}"]`);
      if (!line) continue;
      const mark = element("p", `${spoken[valueOf(one, "what")] ?? "Answered"}; waits for signal. `, { className: "waiting" });
      const back = element("button", "Take back", { type: "button" });
      back.addEventListener("click", () => { forget(one.name); refresh(); });
      mark.append(back);
      line.append(mark);
      if (line.matches("article")) line.querySelectorAll(".done").forEach((button) => { button.disabled = true; });
    }
    showSignal();
  };
  const say = (words, ticks) => {
    document.getElementById("told")?.remove();
    const told = element("section", "", { id: "told", className: "told now" });
    told.setAttribute("role", "status");
    told.append(...words.map((line) => element("p", line)));
    document.getElementById("work").append(told);
    if (!ticks.length) return;
    const undo = element("button", "Undo", { type: "button" });
    undo.addEventListener("click", () => {
      const name = newName();
      const token = document.querySelector('input[name="form"]').value;
      const fields = [["form", token], ["what", "undo"], ["tick", name], ...ticks.map((one) => ["undo", one])];
      keep(KEPT, [...waiting(), { name, fields }]);
      told.remove();
      send();
    });
    told.append(undo);
  };

  // The server lays out the page; after an answer its work is fetched anew and put in place.
  const layAnew = async () => {
    const reply = await fetch(location.pathname, { cache: "no-store" });
    if (!reply.ok) return;
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    const work = page.getElementById("work");
    if (work) document.getElementById("work").replaceChildren(...work.childNodes);
  };

  // What is sent ---------------------------------------------------------------------------

  let sending = false;

  const sendOne = async (one) => {
    const reply = await fetch(`${root}answer`, {
      method: "POST",
      headers: { Accept: "application/json" },
      body: new URLSearchParams(one.fields),
      signal: AbortSignal.timeout(PATIENCE),
    });
    if (reply.ok) return { told: await reply.json() };
    if (reply.status >= 500 || reply.status === 408 || reply.status === 429) throw new Error("not now");
    const words = await reply.json().catch(() => ({ refused: "the house did not take it" }));
    return { why: words.refused };
  };

  const send = async () => {
    if (sending) return;
    sending = true;
    let told = null;
    try {
      for (let one = waiting()[0]; one; one = waiting()[0]) {
        const result = await sendOne(one);
        // Only now: were the phone switched off before, it would send the same name again.
        if (result.why) keep(REFUSED, [...read(REFUSED, []), { name: one.name, handle: valueOf(one, "handle"), why: result.why }]);
        else told = { said: [...(told?.said ?? []), ...result.told.said], ticks: [...(told?.ticks ?? []), ...(valueOf(one, "what") === "undo" ? [] : result.told.ticks)] };
        forget(one.name);
      }
      if (told) {
        await layAnew();
        say(told.said, told.ticks);
      }
    } catch {
      // No signal, or the house is busy: what is kept is sent later.
    } finally {
      sending = false;
      refresh();
    }
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form.answer")) return;
    event.preventDefault();
    const one = fieldsOf(form);
    keep(KEPT, [...waiting(), one]);
    form.reset();
    refresh();
    send();
  });

  addEventListener("online", send);
  addEventListener("storage", refresh);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
  setInterval(() => { if (waiting().length) send(); }, AGAIN_AFTER);
  refresh();
  send();

  // Only a page over https, or on this very computer, may be kept for when the signal drops.
  navigator.serviceWorker?.register(`${root}worker.js`, { scope: root });
})();
