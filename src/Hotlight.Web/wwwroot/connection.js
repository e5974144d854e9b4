// When the connection to the bench drops, the page says so; when it cannot be taken up again it is opened anew. Everything acknowledged is in the store.
const notice = document.getElementById("components-reconnect-modal");
notice?.addEventListener("components-reconnect-state-changed", (event) => {
  const state = /** @type {CustomEvent} */ (event).detail?.state;
  if (state === "rejected") {
    location.reload();
  } else if (state === "failed") {
    waitForBench();
  }
});

async function waitForBench() {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, 1500));
    try {
      const answer = await fetch("/ready", { cache: "no-store" });
      if (answer.ok) {
        location.reload();
        return;
      }
    } catch {
      // Not there yet: ask again.
    }
  }
}
