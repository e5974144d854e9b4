// Sign-in and accounts: opens an invitation, and works passkeys. What is secret goes in a request's body, never in an address.

const token = document.querySelector("meta[name=hotlight-token]")?.getAttribute("content") ?? "";

/**
 * @param {string} path
 * @param {unknown} body
 */
async function send(path, body) {
  const answer = await fetch(path, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-Hotlight-Token": token },
    body: JSON.stringify(body ?? {}),
  });
  if (answer.ok) {
    return answer.json();
  }
  const words = await answer.text();
  try {
    throw new Error(JSON.parse(words).detail ?? words);
  } catch (error) {
    throw error instanceof SyntaxError ? new Error(words || "The bench refused; reload the page and try again.") : error;
  }
}

async function openInvitation() {
  const state = document.querySelector("[data-invitation=state]");
  if (!state) {
    return;
  }
  const secret = location.hash.slice(1);
  if (!secret) {
    state.textContent = "Open the link that you were sent: this address lets nobody in by itself.";
    return;
  }
  history.replaceState(null, "", location.pathname);
  try {
    location.replace((await send("/invitation", { secret })).address);
  } catch (error) {
    state.textContent = error instanceof TypeError ? "The bench does not answer. Open the link again in a while." : /** @type {Error} */ (error).message;
  }
}

/** @param {string} words */
function fault(words) {
  const place = document.querySelector("[data-passkey=fault]");
  if (place instanceof HTMLElement) {
    place.textContent = words;
    place.hidden = words.length === 0;
  }
}

/** @param {() => Promise<void>} act */
async function trying(act) {
  fault("");
  try {
    await act();
  } catch (error) {
    const name = error instanceof DOMException ? error.name : "";
    fault(name === "NotAllowedError" || name === "AbortError" ? "No passkey was given: it was stopped, or took too long."
      : name === "InvalidStateError" ? "This device has a passkey of this account already."
      : error instanceof Error ? error.message : "That did not work.");
  }
}

function passkeys() {
  const can = typeof PublicKeyCredential === "function" && "parseRequestOptionsFromJSON" in PublicKeyCredential && window.isSecureContext && !/^[\d.]+$/.test(location.hostname);
  if (!can) {
    return;
  }
  document.querySelector("[data-passkey=none]")?.setAttribute("hidden", "");
  const signIn = document.querySelector("[data-passkey=sign-in]");
  if (signIn instanceof HTMLElement) {
    signIn.hidden = false;
    signIn.querySelector("button")?.addEventListener("click", () => trying(async () => {
      const options = await send("/sign-in/passkey/options", null);
      const publicKey = /** @type {any} */ (PublicKeyCredential).parseRequestOptionsFromJSON(options);
      const credential = await navigator.credentials.get({ publicKey });
      const answer = await send("/sign-in/passkey", { credential: JSON.stringify(credential), to: signIn.dataset.to });
      location.assign(answer.address);
    }));
  }
  const make = document.querySelector("[data-passkey=make]");
  if (make instanceof HTMLElement) {
    make.hidden = false;
    make.querySelector("button")?.addEventListener("click", () => trying(async () => {
      const options = await send("/account/passkeys/options", null);
      const publicKey = /** @type {any} */ (PublicKeyCredential).parseCreationOptionsFromJSON(options);
      const credential = await navigator.credentials.create({ publicKey });
      const name = /** @type {HTMLInputElement | null} */ (make.querySelector("[data-passkey=name]"))?.value;
      const answer = await send("/account/passkeys", { credential: JSON.stringify(credential), name });
      location.assign(answer.address);
    }));
  }
}

function copies() {
  for (const button of document.querySelectorAll("[data-copy]")) {
    if (button instanceof HTMLElement && navigator.clipboard) {
      button.hidden = false;
      button.addEventListener("click", async () => {
        await navigator.clipboard.writeText(document.querySelector(button.dataset.copy ?? "")?.textContent ?? "");
        button.textContent = "Copied";
      });
    }
  }
}

openInvitation();
passkeys();
copies();
