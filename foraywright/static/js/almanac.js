// After a refused form the first thing read, and the first thing a keyboard meets, is what needs another look.
document.querySelector(".error-summary")?.focus();
