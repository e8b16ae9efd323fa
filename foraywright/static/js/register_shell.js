// The register without signal. What is open here lives in this page only and is gone when it is closed.
(() => {
  const place = document.getElementById("register");
  const button = document.getElementById("send");
  const said = document.getElementById("sent");
  const refused = document.getElementById("refused");
  // Draws the open register anew; nothing while none is open.
  let redraw = async () => {};
  const WORDS = { present: "Here", absent: "Not here", left_early: "Left", conflict: "Two answers", unknown: "awaited" };

  function element(name, options = {}, ...children) {
    const made = Object.assign(document.createElement(name), options);
    made.append(...children);
    return made;
  }

  const KINDS = {
    mark: ["A tick", ""],
    walk_up: ["A party without a booking", "Its names, how to reach it, what it paid and the ticks of its people go with it, and nobody of it is counted here any more. "],
    find: ["A find", ""],
  };

  // Asks once, in its own line: what is refused may be the only record that there is.
  function refusedRow(one) {
    const [what, more] = KINDS[one.kind];
    const at = new Date(one.at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
    const press = (words, look, onclick) => element("button", { type: "button", className: `button ${look}`, textContent: words, onclick });
    const line = element("li", {}, element("p", {}, element("b", { textContent: what }), `, ${at}, was not taken: ${one.refused}`));
    const off = async () => {
      await registerStore.drop(one.uuid);
      await showUnsent();
      await redraw();
    };
    const ask = () => asked.replaceWith(element("div", { className: "danger" },
      element("p", {}, element("strong", { className: "word", textContent: "Lost for good" }), ` We have not got it, and nobody can read it afterwards. ${more}Write down on paper what is needed first.`),
      element("p", { className: "actions" }, press("Take it off for good", "grave", () => { sending = sending.then(off); }), " ", press("Leave it here", "quiet", showUnsent))));
    const asked = element("p", {}, press("Take it off this list …", "quiet", ask));
    line.append(asked);
    return line;
  }

  async function showUnsent() {
    const number = (await registerStore.unsent()).length;
    button.textContent = `Send ${number} ${number === 1 ? "entry" : "entries"}`;
    button.disabled = number === 0;
    refused.replaceChildren(...(await registerStore.refused()).map(refusedRow));
  }

  let sending = Promise.resolve();
  function send() {
    sending = sending.then(async () => {
      try {
        const waiting = (await registerStore.unsent()).length;
        const answer = await registerStore.send();
        const left = (await registerStore.unsent()).length;
        if (waiting) said.textContent = answer || (left ? "Not all were taken." : "All is sent.");
        if (await registerStore.dropRevoked()) await list();
      } catch {
        said.textContent = "No signal. They wait here.";
      }
      await showUnsent();
    });
    return sending;
  }

  // Whoever is in the copy, and whoever came without a booking and was written down here.
  async function everybody(kept, sealed) {
    const here = await registerStore.typedOf(kept.copy, "walk_up");
    return [...sealed.people, ...here.flatMap(({ uuid, fields }) => registerTyped.partyOf(sealed.walk_up, uuid, fields))];
  }

  // As this device knows it: its own last tick, else how it stood when the copy was taken.
  async function standings(kept, people) {
    const now = new Map(people.map((one) => [one.id, one.standing]));
    for (const one of await registerStore.ticksOf(kept.copy)) now.set(one.person, one.state);
    return now;
  }

  const among = (people, now, ...states) => people.filter((one) => states.includes(now.get(one.id)));
  const COMING = ["present", "conflict", "unknown"];

  function limits(frozen, words, people) {
    const { lines, refusals, lost } = registerLimits.statement(frozen, people);
    const bad = (word, sentences) => element("div", { className: "danger" }, element("p", {}, element("strong", { className: "word", textContent: word }), ` ${words}: ${sentences.join(" ")}`));
    const list = element("ul", {}, ...lines.map((line) => element("li", { textContent: line })));
    const parts = [element("details", {}, element("summary", { textContent: refusals.length ? words : `${words}: every limit is kept` }), list)];
    if (refusals.length) parts.unshift(bad("Not kept", refusals));
    if (lost?.refusals.length) parts.push(bad(`Without ${lost.guide}`, [...lost.refusals, "The walk ends then: all go back together."]));
    return parts;
  }

  function row(kept, one, now, again) {
    const state = now.get(one.id);
    const words = element("p", {}, element("b", { textContent: one.name }), `${one.band ? `, ${one.band}` : ""} · ${WORDS[state]}`);
    if (one.in_charge) words.append(element("br"), element("span", { className: "note", textContent: `in the charge of ${one.in_charge}` }));
    if (one.guardian && state === "present" && now.get(one.guardian) !== "present") words.append(element("br"), element("strong", { className: "word", textContent: "Guardian not here: counts with our staff" }));
    const mark = async (to) => {
      try {
        await registerStore.tick(kept, one.id, to);
      } catch {
        return words.append(registerTyped.notKept());
      }
      await again();
      await showUnsent();
      if (navigator.onLine) send();
    };
    const press = (to) => element("button", {
      type: "button", className: to === "present" ? "button" : "button quiet", textContent: WORDS[to], ariaLabel: `${WORDS[to]}: ${one.name}`,
      onclick: () => mark(to),
    });
    const offered = state === "present" ? ["left_early", "absent"] : ["present", "absent"].filter((to) => to !== state);
    const ring = one.ring ? element("p", {}, element("a", { href: `tel:${one.ring.phone}`, textContent: `Ring ${one.ring.name}${one.ring.relation ? ` (${one.ring.relation})` : ""}` })) : element("p", { className: "note", textContent: one.shut ? "Whom to ring does not open: ask them, and tell the office" : one.asked ? "Asked where you met" : "Nothing declared yet" });
    return element("li", {}, words, element("p", { className: "actions" }, ...offered.map(press)), ring);
  }

  function heads(people, now, staff) {
    const count = (...states) => among(people, now, ...states).length;
    const here = count("present", "conflict");
    const figures = [["here", here], ["awaited", count("unknown")], ["not here, or left", count("absent", "left_early")], ["heads, staff included", here + staff]];
    return element("dl", { className: "figures" }, ...figures.map(([word, number]) => element("div", {}, element("dt", { textContent: word }), element("dd", { textContent: number }))));
  }

  // The forms stay as they are while the register above them is drawn anew: nothing that is being typed is lost.
  async function show(kept, sealed) {
    const view = element("div");
    let coming = [];
    const draw = async () => {
      const people = await everybody(kept, sealed);
      const now = await standings(kept, people);
      const finds = (await registerStore.typedOf(kept.copy, "find")).length;
      coming = among(people, now, ...COMING);
      view.replaceChildren(
        heads(people, now, sealed.staff),
        ...limits(sealed.limits, "With those who are here", among(people, now, "present", "conflict")),
        element("ul", { className: "plain register" }, ...people.map((one) => row(kept, one, now, draw))),
        ...limits(sealed.limits, "If everybody awaited still comes", coming),
        ...(finds ? [element("p", { className: "note", textContent: `Finds entered here: ${finds}.` })] : []),
      );
    };
    const keep = (kind) => async (fields) => {
      await registerStore.type(kept, kind, fields);
      await draw();
      await showUnsent();
      if (navigator.onLine) send();
    };
    await draw();
    redraw = draw;
    place.replaceChildren(
      element("h2", { textContent: kept.title }),
      element("p", { className: "note", textContent: `As of ${new Date(sealed.as_of).toLocaleString("en-GB")}, with what was entered on this device. What others ticked is on the page with signal.` }),
      view, registerTyped.walkUp(sealed, () => coming, keep("walk_up")), registerTyped.find(sealed, keep("find")),
      element("p", {}, element("button", { type: "button", className: "button quiet", textContent: "Close it", onclick: list })),
    );
  }

  function lockedRow(kept) {
    const field = element("input", { type: "password", className: "form-control", autocomplete: "off", required: true, id: `code-${kept.copy}` });
    const wrong = element("p", { role: "alert" });
    const form = element("form", {}, element("h2", { textContent: kept.title }), element("p", {}, element("label", { htmlFor: field.id, textContent: "Your code" }), field), element("p", {}, element("button", { className: "button", type: "submit", textContent: "Open it" })), wrong);
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      // Each try is noted before it is made: where nothing can be noted any more, nothing is tried.
      const sealed = await registerStore.unseal(kept.copy, field.value).catch(() => "full");
      field.value = "";
      if (sealed === "full") {
        wrong.textContent = "This device has no room to note the try. Make room on it, then try again; until then use the printed register.";
        return;
      }
      if (sealed) return show(kept, sealed);
      const [left] = (await registerStore.copies()).filter((one) => one.copy === kept.copy);
      if (!left) {
        await list();
        return place.prepend(element("p", { role: "alert", textContent: "That copy can no longer be opened and was deleted: its day is over, its cookie is gone, or the code was wrong ten times. Use the printed register." }));
      }
      wrong.textContent = `Not that code. ${10 - left.failures} more tries, then the copy deletes itself.`;
    });
    return form;
  }

  async function list() {
    const copies = await registerStore.copies();
    redraw = async () => {};
    place.replaceChildren(...copies.map(lockedRow));
    if (!copies.length) place.append(element("p", { className: "lead", textContent: "This device carries no register. Take one along from the page of the walk, with signal." }));
  }

  button.addEventListener("click", send);
  addEventListener("online", send);
  addEventListener("focus", () => { if (navigator.onLine) send(); });
  setInterval(async () => { if ((await registerStore.copies()).length === 0 && place.querySelector(".register")) list(); }, 60000);
  registerStore.tidy().then(list).then(showUnsent).then(() => { if (navigator.onLine) send(); });
})();
