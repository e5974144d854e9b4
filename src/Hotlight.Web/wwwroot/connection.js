// When the connection to the bench drops, the page says so; when it cannot be taken up again it is opened anew. Everything acknowledged is in the store.
const notice = document.getElementById("components-reconnect-modal");
notice?.addEventListener("components-reconnect-state-changed", (event) => {
  const state = /** @type {CustomEvent} */ (event).detail?.state;
  if (state === "rejected") {
    openAgain();
  } else if (state === "failed") {
    waitForBench();
  }
});

// Files that are on their way in go first: a page that is opened anew has forgotten them.
async function openAgain() {
  /** @type {Promise<unknown>[]} */
  const unfinished = [];
  document.dispatchEvent(new CustomEvent("hotlight-opening-again", { detail: unfinished }));
  await Promise.allSettled(unfinished);
  location.reload();
}

async function waitForBench() {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, 1500));
    try {
      const answer = await fetch("/ready", { cache: "no-store" });
      if (answer.ok) {
        await openAgain();
        return;
      }
    } catch {
      // Not there yet: ask again.
    }
  }
}
