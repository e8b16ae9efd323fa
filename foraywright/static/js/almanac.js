// After a refused form the first thing read, and the first thing a keyboard meets, is what needs another look.
document.querySelector(".error-summary")?.focus();

// Whoever signs out leaves no register behind on the device; ticks that were not sent name nobody and stay.
document.querySelector('form[action$="/logout/"]')?.addEventListener("submit", (event) => {
  const form = event.target;
  const request = window.indexedDB?.open("register");
  if (!request) return;
  event.preventDefault();
  request.onupgradeneeded = () => request.transaction.abort();
  request.onerror = () => form.submit();
  request.onsuccess = () => {
    const clearing = request.result.transaction("copies", "readwrite");
    clearing.oncomplete = clearing.onabort = () => form.submit();
    clearing.objectStore("copies").clear();
  };
});
