// What a device keeps of a walk's register: one sealed copy a walk; ticks, which name nobody, until they are sent; and
// what was typed in the wood twice: for the guide, under the code, as long as the copy; and for the server alone until sent.
const registerStore = (() => {
  // Slows guessing of a short code; the figure is the usual one for PBKDF2 with SHA-256.
  const ROUNDS = 600000;
  const MOST_FAILURES = 10;
  // Of copies that are open in this page; they leave it with the page.
  const keys = new Map();
  let opened;

  const done = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  function open() {
    opened ??= (() => {
      const request = indexedDB.open("register", 2);
      request.onupgradeneeded = ({ oldVersion }) => {
        if (oldVersion < 1) {
          request.result.createObjectStore("copies", { keyPath: "copy" });
          request.result.createObjectStore("ticks", { keyPath: "uuid" });
        }
        request.result.createObjectStore("own", { keyPath: "uuid" });
      };
      return done(request).then((found) => {
        found.onversionchange = () => found.close();
        return found;
      });
    })();
    return opened;
  }

  async function within(names, mode, work) {
    const transaction = (await open()).transaction(names, mode, { durability: "strict" });
    const finished = new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error);
    });
    const result = await done(work(transaction));
    await finished;
    return result;
  }

  const inStore = (name, mode, work) => within(name, mode, (transaction) => work(transaction.objectStore(name)));

  const put = (name, value) => inStore(name, "readwrite", (store) => store.put(value));
  const remove = (name, key) => inStore(name, "readwrite", (store) => store.delete(key));
  const all = (name) => inStore(name, "readonly", (store) => store.getAll());

  // Half of the key is a cookie of the server's, which the browser itself lets go of a day after the walk: what lies on a
  // device that nobody opens again is shut for good, though no script ran there.
  const cookieOf = (copy) => `register-${copy}`;
  const halfOf = (copy) => document.cookie.split("; ").find((one) => one.startsWith(`${cookieOf(copy)}=`))?.split("=")[1];

  async function keyFrom(code, half, salt) {
    const bytes = new TextEncoder().encode(`${half} ${code}`);
    const raw = await crypto.subtle.importKey("raw", bytes, "PBKDF2", false, ["deriveKey"]);
    const how = { name: "PBKDF2", hash: "SHA-256", salt, iterations: ROUNDS };
    return crypto.subtle.deriveKey(how, raw, { name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
  }

  async function seal(given, code) {
    const { sealed, ...open } = given;
    const half = halfOf(open.copy);
    if (!half) return false;
    const salt = crypto.getRandomValues(new Uint8Array(16));
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const text = new TextEncoder().encode(JSON.stringify(sealed));
    const key = await keyFrom(code, half, salt);
    const body = await crypto.subtle.encrypt({ name: "AES-GCM", iv }, key, text);
    await put("copies", { ...open, salt, iv, body, failures: 0 });
    return true;
  }

  // The failure is noted before the code is tried: a page that is closed in between gives no free guess.
  async function unseal(copy, code) {
    const [kept] = (await all("copies")).filter((one) => one.copy === copy);
    if (!kept) return null;
    const half = halfOf(copy);
    if (!half) return forget(copy);
    await put("copies", { ...kept, failures: kept.failures + 1 });
    try {
      const key = await keyFrom(code, half, kept.salt);
      const text = await crypto.subtle.decrypt({ name: "AES-GCM", iv: kept.iv }, key, kept.body);
      await put("copies", { ...kept, failures: 0 });
      keys.set(copy, key);
      return JSON.parse(new TextDecoder().decode(text));
    } catch {
      if (kept.failures + 1 >= MOST_FAILURES) await forget(copy);
      return null;
    }
  }

  // The copy goes with what was typed beside it; what waits for the server stays, and nobody can read it here.
  async function forget(copy) {
    keys.delete(copy);
    document.cookie = `${cookieOf(copy)}=; Max-Age=0; Path=/`;
    for (const one of await all("own")) if (one.copy === copy) await remove("own", one.uuid);
    await remove("copies", copy);
  }

  async function copies() {
    const found = await all("copies");
    const over = found.filter((one) => Date.parse(one.kept_until) <= Date.now());
    await Promise.all(over.map((one) => forget(one.copy)));
    return found.filter((one) => !over.includes(one));
  }

  const waiting = (kept, said) => ({
    uuid: crypto.randomUUID(), at: new Date().toISOString(), copy: kept.copy, ticks: kept.ticks, fate: "waiting", ...said,
  });

  const tick = (kept, person, state) => put("ticks", waiting(kept, { kind: "mark", person, state }));

  async function ticksOf(copy) {
    const found = (await all("ticks")).filter((one) => one.copy === copy && one.kind === "mark");
    return found.sort((one, other) => one.at.localeCompare(other.at));
  }

  const toText = (bytes) => btoa(Array.from(new Uint8Array(bytes), (one) => String.fromCharCode(one)).join(""));
  const toBytes = (text) => Uint8Array.from(atob(text), (one) => one.charCodeAt(0));

  // A fresh key for each, wrapped for the server: here nobody can open it again, with the code or without.
  async function sealForServer(kept, uuid, bytes) {
    const how = { name: "RSA-OAEP", hash: "SHA-256" };
    const theirs = await crypto.subtle.importKey("spki", toBytes(kept.seal_for), how, false, ["wrapKey"]);
    const key = await crypto.subtle.generateKey({ name: "AES-GCM", length: 256 }, true, ["encrypt"]);
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const body = await crypto.subtle.encrypt({ name: "AES-GCM", iv, additionalData: new TextEncoder().encode(uuid) }, key, bytes);
    const wrapped = await crypto.subtle.wrapKey("raw", key, theirs, how);
    return { key: toText(wrapped), iv: toText(iv), body: toText(body) };
  }

  // Both are kept in one transaction: what the guide sees is what is sent.
  async function type(kept, kind, fields) {
    const made = waiting(kept, { kind });
    const bytes = new TextEncoder().encode(JSON.stringify(fields));
    made.sealed = await sealForServer(kept, made.uuid, bytes);
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const body = await crypto.subtle.encrypt({ name: "AES-GCM", iv }, keys.get(kept.copy), bytes);
    const own = { uuid: made.uuid, copy: kept.copy, kind, at: made.at, iv, body };
    await within(["ticks", "own"], "readwrite", (transaction) => {
      transaction.objectStore("own").put(own);
      return transaction.objectStore("ticks").put(made);
    });
  }

  async function typedOf(copy, kind) {
    const found = (await all("own")).filter((one) => one.copy === copy && one.kind === kind);
    const texts = found.sort((one, other) => one.at.localeCompare(other.at)).map(async ({ uuid, iv, body }) => {
      const text = await crypto.subtle.decrypt({ name: "AES-GCM", iv }, keys.get(copy), body);
      return { uuid, fields: JSON.parse(new TextDecoder().decode(text)) };
    });
    return Promise.all(texts);
  }

  const unsent = async () => (await all("ticks")).filter((one) => one.fate === "waiting");

  async function settle(uuids, ticks, fate) {
    for (const one of ticks.filter((each) => uuids.includes(each.uuid))) await put("ticks", { ...one, fate });
  }

  // Why the server does not take it; it waits all the same, since the reason may pass.
  async function noteRefused(refused, ticks) {
    for (const one of ticks.filter((each) => each.uuid in refused)) await put("ticks", { ...one, refused: refused[one.uuid] });
  }

  const refused = async () => (await unsent()).filter((one) => one.refused);

  // With a party go the ticks of its people: nobody else knows them by that name.
  async function drop(uuid) {
    const gone = (await all("ticks")).filter((one) => one.uuid === uuid || one.person?.startsWith(`${uuid}/`));
    await within(["ticks", "own"], "readwrite", (transaction) => {
      for (const one of gone) transaction.objectStore("ticks").delete(one.uuid);
      return transaction.objectStore("own").delete(uuid);
    });
  }

  // Ticks of a copy that is gone were sent long ago, or still wait.
  async function tidy() {
    const kept = (await copies()).map((one) => one.copy);
    for (const one of await all("ticks")) {
      if (one.fate !== "waiting" && !kept.includes(one.copy)) await remove("ticks", one.uuid);
    }
  }

  async function ask(address, options) {
    const answer = await fetch(address, { headers: { Accept: "application/json" }, cache: "no-store", ...options });
    if (answer.redirected) return { refused: "Sign in again, then send them. They stay here." };
    if (answer.status === 410) return { revoked: true };
    const isData = (answer.headers.get("content-type") ?? "").includes("json");
    return isData ? answer.json() : { refused: `Not taken (${answer.status}). They stay here.` };
  }

  async function sendFor(copy, ticks) {
    const [{ ticks: address }] = ticks;
    const hello = await ask(address);
    if (hello.revoked) {
      await settle(ticks.map((one) => one.uuid), ticks, "revoked");
      return "This copy was revoked: it is deleted, and its ticks are not taken.";
    }
    if (!hello.token) return hello.refused;
    // What this clock shows now tells the server how far it is off.
    const body = JSON.stringify({ sent_at: new Date().toISOString(), ticks: ticks.map(({ uuid, kind, person, state, at, sealed }) => ({ uuid, kind, person, state, at, sealed })) });
    const headers = { "Content-Type": "application/json", "X-CSRFToken": hello.token };
    const answer = await ask(address, { method: "POST", body, headers });
    if (!answer.taken) return answer.refused ?? "Not taken. They stay here.";
    await settle(answer.taken, ticks, "taken");
    await settle(answer.without_place, ticks, "without place");
    await noteRefused(answer.refused, ticks);
    const lost = answer.without_place.length;
    const stays = [...new Set(Object.values(answer.refused))].map((why) => `Not taken, it stays here: ${why}`);
    return [lost ? `${lost} of people who have no place any more. The register with signal names them; whoever is with you must be written down as somebody who came without a booking.` : "", ...stays].filter(Boolean).join(" ");
  }

  async function send() {
    const waiting = await unsent();
    const said = [];
    for (const copy of new Set(waiting.map((one) => one.copy))) {
      said.push(await sendFor(copy, waiting.filter((one) => one.copy === copy)));
    }
    return said.filter(Boolean).join(" ");
  }

  // A phone that was lost and found again, and had nothing to send, must hear that it was called back as well; and one
  // of a guide whose place another took keeps no names any longer.
  async function dropRevoked() {
    let dropped = 0;
    for (const one of await copies()) {
      const { revoked, over } = await ask(one.ticks);
      if (!revoked && !over) continue;
      await forget(one.copy);
      dropped += 1;
    }
    return dropped;
  }

  // A random name for the device itself, so that the register's history can tell two phones apart.
  function device() {
    localStorage.registerDevice ??= crypto.randomUUID();
    return localStorage.registerDevice;
  }

  return { seal, unseal, copies, tick, ticksOf, type, typedOf, unsent, refused, drop, send, tidy, dropRevoked, device };
})();
