// What a device keeps of a walk's register: one sealed copy a walk, and ticks, which name nobody, until they are sent.
const registerStore = (() => {
  // Slows guessing of a short code; the figure is the usual one for PBKDF2 with SHA-256.
  const ROUNDS = 600000;
  const MOST_FAILURES = 10;
  let opened;

  const done = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  function open() {
    opened ??= (() => {
      const request = indexedDB.open("register", 1);
      request.onupgradeneeded = () => {
        request.result.createObjectStore("copies", { keyPath: "copy" });
        request.result.createObjectStore("ticks", { keyPath: "uuid" });
      };
      return done(request);
    })();
    return opened;
  }

  async function inStore(name, mode, work) {
    const transaction = (await open()).transaction(name, mode, { durability: "strict" });
    const finished = new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error);
    });
    const result = await done(work(transaction.objectStore(name)));
    await finished;
    return result;
  }

  const put = (name, value) => inStore(name, "readwrite", (store) => store.put(value));
  const remove = (name, key) => inStore(name, "readwrite", (store) => store.delete(key));
  const all = (name) => inStore(name, "readonly", (store) => store.getAll());

  async function keyFrom(code, salt) {
    const bytes = new TextEncoder().encode(code);
    const raw = await crypto.subtle.importKey("raw", bytes, "PBKDF2", false, ["deriveKey"]);
    const how = { name: "PBKDF2", hash: "SHA-256", salt, iterations: ROUNDS };
    return crypto.subtle.deriveKey(how, raw, { name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
  }

  async function seal(given, code) {
    const { sealed, ...open } = given;
    const salt = crypto.getRandomValues(new Uint8Array(16));
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const text = new TextEncoder().encode(JSON.stringify(sealed));
    const body = await crypto.subtle.encrypt({ name: "AES-GCM", iv }, await keyFrom(code, salt), text);
    await put("copies", { ...open, salt, iv, body, failures: 0 });
  }

  // The failure is noted before the code is tried: a page that is closed in between gives no free guess.
  async function unseal(copy, code) {
    const [kept] = (await all("copies")).filter((one) => one.copy === copy);
    if (!kept) return null;
    await put("copies", { ...kept, failures: kept.failures + 1 });
    try {
      const key = await keyFrom(code, kept.salt);
      const text = await crypto.subtle.decrypt({ name: "AES-GCM", iv: kept.iv }, key, kept.body);
      await put("copies", { ...kept, failures: 0 });
      return JSON.parse(new TextDecoder().decode(text));
    } catch {
      if (kept.failures + 1 >= MOST_FAILURES) await remove("copies", copy);
      return null;
    }
  }

  async function copies() {
    const found = await all("copies");
    const over = found.filter((one) => Date.parse(one.kept_until) <= Date.now());
    await Promise.all(over.map((one) => remove("copies", one.copy)));
    return found.filter((one) => !over.includes(one));
  }

  const tick = (kept, person, state) => put("ticks", {
    uuid: crypto.randomUUID(), kind: "mark", person, state, at: new Date().toISOString(),
    copy: kept.copy, ticks: kept.ticks, fate: "waiting",
  });

  async function ticksOf(copy) {
    const found = (await all("ticks")).filter((one) => one.copy === copy);
    return found.sort((one, other) => one.at.localeCompare(other.at));
  }

  const unsent = async () => (await all("ticks")).filter((one) => one.fate === "waiting");

  async function settle(uuids, ticks, fate) {
    for (const one of ticks.filter((each) => uuids.includes(each.uuid))) await put("ticks", { ...one, fate });
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
    const body = JSON.stringify({ ticks: ticks.map(({ uuid, kind, person, state, at }) => ({ uuid, kind, person, state, at })) });
    const headers = { "Content-Type": "application/json", "X-CSRFToken": hello.token };
    const answer = await ask(address, { method: "POST", body, headers });
    if (!answer.taken) return answer.refused ?? "Not taken. They stay here.";
    await settle(answer.taken, ticks, "taken");
    await settle(answer.without_place, ticks, "without place");
    const lost = answer.without_place.length;
    return lost ? `${lost} of people who have no place any more: tell the office.` : "";
  }

  async function send() {
    const waiting = await unsent();
    const said = [];
    for (const copy of new Set(waiting.map((one) => one.copy))) {
      said.push(await sendFor(copy, waiting.filter((one) => one.copy === copy)));
    }
    return said.filter(Boolean).join(" ");
  }

  // A phone that was lost and found again, and had nothing to send, must hear that it was called back as well.
  async function dropRevoked() {
    let dropped = 0;
    for (const one of await copies()) {
      if (!(await ask(one.ticks)).revoked) continue;
      await remove("copies", one.copy);
      dropped += 1;
    }
    return dropped;
  }

  return { seal, unseal, copies, tick, ticksOf, unsent, send, tidy, dropRevoked };
})();
