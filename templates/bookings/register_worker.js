// Keeps the empty register page and what it is drawn with; whatever holds data of people never comes through here.
const STAMP = "register-{{ stamp }}";
const KEPT = {{ kept|safe }};

self.addEventListener("install", (event) => {
  // Without credentials: a page that names who is signed in must not be kept.
  const asked = KEPT.map((address) => new Request(address, { credentials: "omit", cache: "reload" }));
  event.waitUntil(caches.open(STAMP).then((cache) => cache.addAll(asked)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith("register-") && name !== STAMP);
  const tidy = caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name))));
  event.waitUntil(tidy.then(() => self.clients.claim()));
});

// A browser short of room may have thrown it out: with signal it is kept anew.
async function keepAgain(address) {
  const answer = await fetch(new Request(address, { credentials: "omit", cache: "reload" }));
  if (answer.ok) await (await caches.open(STAMP)).put(address, answer.clone());
  return answer;
}

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== self.location.origin || !KEPT.includes(address.pathname)) return;
  event.respondWith(caches.match(address.pathname).then((found) => found ?? keepAgain(address.pathname)));
});
