// Forms that are filled in without signal. The server drew them and reads them again; here is only asked what it would ask.
const registerTyped = (() => {
  const lines = (text) => text.split(/\r?\n/).map((one) => one.trim()).filter(Boolean);
  const number = (fields, name) => Number(fields[name] || 0);

  // The people of a party in the server's order: adults first, then the children band by band.
  function partyOf({ fields: asked }, uuid, fields) {
    const names = lines(fields.names);
    const bands = asked.flatMap(([field, band], place) => Array(number(fields, field)).fill([band, place]));
    const guarded = fields.guardian && number(fields, "adults") > 0;
    return bands.map(([band, place], at) => ({
      id: `${uuid}/${at}`, name: names[at] ?? "", band: place ? band : "", number: place ? place - 1 : null,
      guardian: place && guarded ? `${uuid}/0` : "", in_charge: place && guarded ? names[0] : "", standing: "present", asked: true,
      ring: fields.ring_phone ? { name: fields.ring_name, phone: fields.ring_phone, relation: fields.ring_relation } : null,
    }));
  }

  function toPay({ adds, currency }, fields) {
    const minor = Object.entries(adds).reduce((sum, [field, each]) => sum + each * number(fields, field), 0);
    const words = new Intl.NumberFormat("en-GB", { style: "currency", currency });
    return words.format(minor / 10 ** words.resolvedOptions().maximumFractionDigits);
  }

  function missing({ lower }, party, fields) {
    const names = lines(fields.names).length;
    return [
      party.length ? "" : "A party needs at least one person. Say how many are coming.",
      lower.some(([field, of]) => number(fields, field) > number(fields, of)) ? "There are more people at a lower price than the party has of that age." : "",
      party.length > 30 ? "A party has at most 30 people." : "",
      names === party.length ? "" : `You wrote ${names} names for ${party.length} people. Write everybody’s, one a line.`,
      fields.phone || fields.email || fields.address ? "" : "Write a phone number, an e-mail or a postal address.",
      fields.heard === "nothing" && !(fields.ring_name && fields.ring_phone) ? "Ask whom to ring in an emergency, with the number." : "",
    ].filter(Boolean);
  }

  function element(name, options = {}, ...children) {
    const made = Object.assign(document.createElement(name), options);
    made.append(...children);
    return made;
  }

  // Nothing that looks kept may be lost: whoever pressed hears at once that a full device kept nothing.
  const notKept = () => element("span", { role: "alert" }, element("strong", { className: "word", textContent: "Not kept: this device has no room" }),
    ". Write it on the printed register, make room on the device, and press again.");

  // `check` answers with what is to be said before anything is kept, or nothing; `keep` keeps it.
  function folded(title, html, { check, keep, beside }) {
    const said = element("div", { role: "alert" });
    const box = element("details", { className: "typed" }, element("summary", { textContent: title }));
    box.insertAdjacentHTML("beforeend", html);
    const form = box.querySelector("form");
    form.prepend(said);
    const fields = () => Object.fromEntries(new FormData(form));
    if (beside) form.addEventListener("input", () => beside(form, fields()));
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      said.replaceChildren();
      if (!form.reportValidity()) return;
      const sentences = check(fields(), () => finish());
      said.replaceChildren(...sentences);
      if (sentences.length) said.scrollIntoView({ block: "center" });
      else await finish();
    });
    async function finish() {
      try {
        await keep(fields());
      } catch {
        return said.replaceChildren(notKept());
      }
      form.reset();
      said.replaceChildren();
      box.open = false;
    }
    return box;
  }

  function overLimit(refusals, fits, goOn) {
    const all = element("button", { type: "button", className: "button grave", textContent: "They are here all the same: write it down", onclick: goOn });
    return element("div", { className: "danger" },
      element("p", {}, element("strong", { className: "word", textContent: "Over a limit" }), ` ${refusals.join(" ")}`),
      element("p", { textContent: `${fits ? `${fits} of them would fit.` : "Nobody of them would fit."} Do not take them on. This device cannot keep a place from others; whoever goes into the wood must be written down, and the office is told what was broken.` }),
      element("p", {}, all));
  }

  // coming: () => the people who count, before this party.
  function walkUp(sealed, coming, keep) {
    const total = element("p", { role: "status" });
    const beside = (form, fields) => { total.textContent = `To pay: ${toPay(sealed.walk_up, fields)}`; form.querySelector("[type=submit]").before(total); };
    const check = (fields, goOn) => {
      const party = partyOf(sealed.walk_up, "new", fields);
      const wrong = missing(sealed.walk_up, party, fields);
      if (wrong.length) return wrong.map((sentence) => element("p", { className: "invalid-feedback d-block", textContent: sentence }));
      const { refusals } = registerLimits.statement(sealed.limits, [...coming(), ...party]);
      return refusals.length ? [overLimit(refusals, registerLimits.wouldFit(sealed.limits, coming(), party), goOn)] : [];
    };
    return folded("Somebody came without a booking", sealed.walk_up.form, { check, keep, beside });
  }

  function find(sealed, keep) {
    const check = (fields) => fields.taxon || fields.words.trim() ? [] : [element("p", { className: "invalid-feedback d-block", textContent: "A find needs a species, or words for what was seen." })];
    return folded("Enter a find", sealed.find, { check, keep });
  }

  return { partyOf, walkUp, find, notKept };
})();
