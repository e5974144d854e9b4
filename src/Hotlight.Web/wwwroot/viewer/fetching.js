// Fetches what the viewer shows.

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
