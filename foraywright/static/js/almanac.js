// After a refused form the first thing read, and the first thing a keyboard meets, is what needs another look.
document.querySelector(".error-summary")?.focus();

// Whoever signs out leaves no register behind on the device; what was not sent can be read by nobody here and stays.
document.querySelector('form[action$="/logout/"]')?.addEventListener("submit", (event) => {
  const form = event.target;
  const request = window.indexedDB?.open("register");
  if (!request) return;
  event.preventDefault();
  request.onupgradeneeded = () => request.transaction.abort();
  request.onerror = () => form.submit();
  request.onsuccess = () => {
    const personal = ["copies", "own"].filter((one) => request.result.objectStoreNames.contains(one));
    const clearing = request.result.transaction(personal, "readwrite");
    clearing.oncomplete = clearing.onabort = () => form.submit();
    for (const one of personal) clearing.objectStore(one).clear();
  };
});
