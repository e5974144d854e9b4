// Tells the bench now and then that somebody moves the pointer or types, so that a session ends when nobody is there and not under the hands. Gives the page's token to the form that signs out.
const token = document.querySelector("meta[name=hotlight-token]")?.getAttribute("content") ?? "";
const often = 60_000;
let told = Date.now();

async function tell() {
  const now = Date.now();
  if (now - told < often || !document.querySelector("[data-signed-in]")) {
    return;
  }
  told = now;
  try {
    await fetch("/account/active", { method: "POST", headers: { "X-Hotlight-Token": token } });
  } catch {
    // The bench is away for the moment; the next act tells it.
  }
}

for (const kind of ["pointerdown", "pointermove", "keydown", "wheel"]) {
  document.addEventListener(kind, tell, { passive: true, capture: true });
}

document.addEventListener("submit", (event) => {
  if (event.target instanceof HTMLFormElement) {
    const field = event.target.querySelector("[data-page-token]");
    if (field instanceof HTMLInputElement) {
      field.value = token;
    }
  }
}, { capture: true });
