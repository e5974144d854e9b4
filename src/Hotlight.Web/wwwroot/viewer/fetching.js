// Fetches what the viewer shows.

/** @import { LinearSignal } from "./types.js" */

/**
 * The linear signal of every pixel value, or why there is none.
 * @param {string} url
 * @param {AbortSignal} signal
 * @returns {Promise<LinearSignal>}
 */
export async function fetchSignal(url, signal) {
  const answer = await fetch(url, { signal, credentials: "same-origin" });
  if (!answer.ok || answer.status === 204) {
    return { byValue: null, isKerma: false, basis: answer.headers.get("Hotlight-Signal-Basis") ?? "the bench did not answer" };
  }
  return {
    byValue: new Float64Array(await answer.arrayBuffer()),
    isKerma: answer.headers.get("Hotlight-Signal-Unit") === "microgray",
    basis: answer.headers.get("Hotlight-Signal-Basis") ?? "",
  };
}

/**
 * @param {string} url
 * @param {AbortSignal} signal
 * @param {(share: number) => void} [progress]
 * @returns {Promise<ArrayBuffer>}
 */
export async function fetchBytes(url, signal, progress) {
  const answer = await fetch(url, { signal, credentials: "same-origin" });
  if (!answer.ok) {
    let sentence = "The image could not be fetched; reload the page.";
    try {
      sentence = (await answer.json()).detail ?? sentence;
    } catch {
      // The answer is no problem document: the plain sentence stands.
    }
    throw new Error(sentence);
  }
  const total = Number(answer.headers.get("content-length"));
  if (!progress || !answer.body || !(total > 0)) {
    return answer.arrayBuffer();
  }
  const bytes = new Uint8Array(total);
  const reader = answer.body.getReader();
  let at = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) {
      break;
    }
    if (at + value.length > total) {
      throw new Error("The image arrived longer than announced; reload the page.");
    }
    bytes.set(value, at);
    at += value.length;
    progress(at / total);
  }
  if (at !== total) {
    throw new Error("The image arrived incomplete; reload the page.");
  }
  return bytes.buffer;
}
