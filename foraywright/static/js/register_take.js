// "Ready for the wood?": fetch the register, seal it, read it back, see that the page is kept, and say when.
(() => {
  const form = document.getElementById("take");
  const said = document.getElementById("took");
  if (!("serviceWorker" in navigator) || !crypto.subtle || !window.indexedDB) {
    said.textContent = "This browser cannot keep it. Use the printed register.";
    return;
  }
  form.hidden = false;
  said.textContent = "";
  // What has outlived its day goes as soon as anybody opens a register here.
  registerStore.tidy();

  async function keepPage() {
    await navigator.serviceWorker.register(form.dataset.worker, { scope: form.dataset.shell });
    for (let tries = 0; tries < 50; tries += 1) {
      if (await caches.match(form.dataset.shell)) return true;
      await new Promise((resolve) => setTimeout(resolve, 200));
    }
    return false;
  }

  async function take(code) {
    const body = new FormData(form);
    body.set("device", registerStore.device());
    const answer = await fetch(form.action, { method: "POST", body, cache: "no-store" });
    if (answer.redirected || !(answer.headers.get("content-type") ?? "").includes("json")) return "Not taken along: sign in again.";
    const given = await answer.json();
    if (given.refused) return given.refused;
    if (!await registerStore.seal(given, code)) return "Not taken along: this browser keeps no cookies. Use the printed register.";
    const back = await registerStore.unseal(given.copy, code);
    if (JSON.stringify(back) !== JSON.stringify(given.sealed)) return "Not ready: what was kept could not be read back. Use the printed register.";
    if (!await keepPage()) return "Not ready: the page was not kept. Use the printed register.";
    navigator.storage?.persist?.();
    return `Ready for the wood: ${given.sealed.people.length} people kept and read back at ${new Date().toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" })}. Take the printed register too.`;
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const field = document.getElementById("code");
    said.textContent = "Taking it along …";
    try {
      said.textContent = await take(field.value);
    } catch {
      said.textContent = "Not ready: no signal, or this browser keeps nothing. Use the printed register.";
    }
    field.value = "";
  });
})();
