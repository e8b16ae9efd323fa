// The register without signal. What is open here lives in this page only and is gone when it is closed.
(() => {
  const place = document.getElementById("register");
  const button = document.getElementById("send");
  const said = document.getElementById("sent");
  const WORDS = { present: "Here", absent: "Not here", left_early: "Left", conflict: "Two answers", unknown: "awaited" };

  function element(name, options = {}, ...children) {
    const made = Object.assign(document.createElement(name), options);
    made.append(...children);
    return made;
  }

  async function showUnsent() {
    const number = (await registerStore.unsent()).length;
    button.textContent = `Send ${number} tick${number === 1 ? "" : "s"}`;
    button.disabled = number === 0;
  }

  let sending = Promise.resolve();
  function send() {
    sending = sending.then(async () => {
      try {
        const waiting = (await registerStore.unsent()).length;
        const answer = await registerStore.send();
        const left = (await registerStore.unsent()).length;
        if (waiting) said.textContent = answer || (left ? "Not all were taken." : "All ticks are sent.");
        if (await registerStore.dropRevoked()) await list();
      } catch {
        said.textContent = "No signal. The ticks wait here.";
      }
      await showUnsent();
    });
    return sending;
  }

  // As this device knows it: its own last tick, else how it stood when the copy was taken.
  async function standings(kept, sealed) {
    const now = new Map(sealed.people.map((one) => [one.id, one.standing]));
    for (const one of await registerStore.ticksOf(kept.copy)) now.set(one.person, one.state);
    return now;
  }

  function limits({ expected, lost }) {
    const list = (lines) => element("ul", {}, ...lines.map((line) => element("li", { textContent: line })));
    const box = element("details", {}, element("summary", { textContent: "Limits, as they stood with all awaited" }), list(expected.lines));
    const bad = (word, refusals) => element("div", { className: "danger" }, element("p", {}, element("strong", { className: "word", textContent: word }), ` ${refusals.join(" ")}`));
    if (expected.refusals.length) box.prepend(bad("Not kept", expected.refusals));
    const parts = [box];
    if (lost?.refusals.length) parts.push(bad(`Without ${lost.guide}`, [...lost.refusals, "The walk ends then: all go back together."]));
    return parts;
  }

  function row(kept, sealed, one, now, again) {
    const state = now.get(one.id);
    const words = element("p", {}, element("b", { textContent: one.name }), `${one.band ? `, ${one.band}` : ""} · ${WORDS[state]}`);
    if (one.in_charge) words.append(element("br"), element("span", { className: "note", textContent: `in the charge of ${one.in_charge}` }));
    if (one.guardian && state === "present" && now.get(one.guardian) !== "present") words.append(element("br"), element("strong", { className: "word", textContent: "Guardian not here: counts with our staff" }));
    const press = (to) => element("button", {
      type: "button", className: to === "present" ? "button" : "button quiet", textContent: WORDS[to], ariaLabel: `${WORDS[to]}: ${one.name}`,
      onclick: async () => { await registerStore.tick(kept, one.id, to); await again(); await showUnsent(); if (navigator.onLine) send(); },
    });
    const offered = state === "present" ? ["left_early", "absent"] : ["present", "absent"].filter((to) => to !== state);
    const ring = one.ring ? element("p", {}, element("a", { href: `tel:${one.ring.phone}`, textContent: `Ring ${one.ring.name}${one.ring.relation ? ` (${one.ring.relation})` : ""}` })) : element("p", { className: "note", textContent: "Nothing declared yet" });
    return element("li", {}, words, element("p", { className: "actions" }, ...offered.map(press)), ring);
  }

  function heads(sealed, now) {
    const count = (...states) => sealed.people.filter((one) => states.includes(now.get(one.id))).length;
    const here = count("present", "conflict");
    const figures = [["here", here], ["awaited", count("unknown")], ["not here, or left", count("absent", "left_early")], ["heads, staff included", here + sealed.staff]];
    return element("dl", { className: "figures" }, ...figures.map(([word, number]) => element("div", {}, element("dt", { textContent: word }), element("dd", { textContent: number }))));
  }

  async function show(kept, sealed) {
    const now = await standings(kept, sealed);
    const again = () => show(kept, sealed);
    place.replaceChildren(
      element("h2", { textContent: kept.title }),
      element("p", { className: "note", textContent: `As of ${new Date(sealed.as_of).toLocaleString("en-GB")}, with the ticks of this device. What others ticked is on the page with signal.` }),
      heads(sealed, now), ...limits(sealed.limits),
      element("ul", { className: "plain register" }, ...sealed.people.map((one) => row(kept, sealed, one, now, again))),
      element("p", {}, element("button", { type: "button", className: "button quiet", textContent: "Close it", onclick: list })),
    );
  }

  function lockedRow(kept) {
    const field = element("input", { type: "password", className: "form-control", autocomplete: "off", required: true, id: `code-${kept.copy}` });
    const wrong = element("p", { role: "alert" });
    const form = element("form", {}, element("h2", { textContent: kept.title }), element("p", {}, element("label", { htmlFor: field.id, textContent: "Your code" }), field), element("p", {}, element("button", { className: "button", type: "submit", textContent: "Open it" })), wrong);
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const sealed = await registerStore.unseal(kept.copy, field.value);
      field.value = "";
      if (sealed) return show(kept, sealed);
      const [left] = (await registerStore.copies()).filter((one) => one.copy === kept.copy);
      if (!left) return list();
      wrong.textContent = `Not that code. ${10 - left.failures} more tries, then the copy deletes itself.`;
    });
    return form;
  }

  async function list() {
    const copies = await registerStore.copies();
    place.replaceChildren(...copies.map(lockedRow));
    if (!copies.length) place.append(element("p", { className: "lead", textContent: "This device carries no register. Take one along from the page of the walk, with signal." }));
  }

  button.addEventListener("click", send);
  addEventListener("online", send);
  addEventListener("focus", () => { if (navigator.onLine) send(); });
  setInterval(async () => { if ((await registerStore.copies()).length === 0 && place.querySelector(".register")) list(); }, 60000);
  registerStore.tidy().then(list).then(showUnsent).then(() => { if (navigator.onLine) send(); });
})();
