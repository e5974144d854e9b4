// The page of a case's walk-through on the bench: the player, and the recorder when a teacher records.

import { openPlayer } from "./player.js";
import { beginTake, takeHands } from "./recorder.js";

/** @typedef {{ invokeMethodAsync: (name: string, ...values: unknown[]) => Promise<unknown> }} Page */

/** @param {string} address */
async function fetched(address) {
  const answer = await fetch(address);
  if (!answer.ok) {
    throw new Error((await answer.json().catch(() => null))?.detail ?? "The bench did not answer.");
  }
  return answer;
}

/**
 * @param {Page} page
 * @param {HTMLElement} host
 * @param {string} id the case
 */
export async function start(page, host, id) {
  const here = `/cases/${id}/walk-through`;
  const token = /** @type {HTMLMetaElement} */ (document.querySelector("meta[name=hotlight-token]")).content;
  const [play, facts, pixels, modality, opened] = await Promise.all([
    fetched(`${here}/play`).then((answer) => answer.json()),
    fetched(`${here}/picture`).then((answer) => answer.json()),
    fetched(`/cases/${id}/pixels`).then((answer) => answer.arrayBuffer()),
    fetched(`/cases/${id}/modality`).then((answer) => answer.arrayBuffer()),
    fetched(`/cases/${id}/table`).then((answer) => answer.arrayBuffer()),
  ]);
  const picture = { ...facts, pixels: new Uint16Array(pixels), modality: new Float64Array(modality), opened: new Uint8Array(opened) };
  let present = play.walk.steps[0].id;
  const player = openPlayer(host, play, picture, {
    level: 0,
    voice: async (voice) => `${here}/voices/${voice.sha256}`,
    step: (step) => {
      present = step;
      page.invokeMethodAsync("OnStep", step).catch(() => {});
    },
  });
  const image = play.walk.image;
  /** @type {ReturnType<typeof takeHands> | null} */
  let hands = null;
  /** @type {Awaited<ReturnType<typeof beginTake>> | null} */
  let take = null;
  /** @type {MediaStream | null} */
  let stream = null;
  let clock = 0;
  host.dataset.state = "shown";
  const ending = new AbortController();
  document.addEventListener("keydown", (event) => {
    const target = /** @type {HTMLElement} */ (event.target);
    if (!host.contains(target) && !target.closest("input, textarea, select, button, a, summary, [role=tab]")) {
      player.onKey(event);
    }
  }, { signal: ending.signal });
  // Leaving while something waits would lose it.
  window.addEventListener("beforeunload", (event) => {
    if (take) {
      event.preventDefault();
    }
  }, { signal: ending.signal });

  /** @param {string} words */
  const say = (words) => {
    const place = document.querySelector("[data-walk=said]");
    if (place) {
      place.textContent = words;
    }
  };

  function letGo() {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
  }

  return {
    /** Takes the walk-through as it is kept now. @param {string | null} step */
    async take(step) {
      player.take(await fetched(`${here}/play`).then((answer) => answer.json()), step);
      hands?.again();
    },
    /** Whether the picture is in the teacher's hands. @param {boolean} on */
    hold(on) {
      if (on && !hands) {
        player.pause();
        hands = takeHands(player, image, {
          view: (view) => take?.view(view),
          window: (window) => take?.window(window),
          pointer: (at) => take?.pointer(at),
          stroke: (line, at) => take?.stroke(line, at),
        });
      } else if (!on && hands) {
        hands.stop();
        hands = null;
      }
    },
    /** @param {import("./recorder.js").Tool} tool */
    use: (tool) => hands?.use(tool),
    seen: () => hands?.seen() ?? null,
    /** Goes to a step. @param {string} step */
    go(step) {
      const at = [...host.querySelectorAll(".walk-list button")];
      /** @type {HTMLElement | undefined} */ (at[Number(step)])?.click();
    },
    /**
     * Begins a recording of the step that is shown.
     * @param {boolean} withVoice
     * @returns {Promise<string | null>} why it could not; null: it runs
     */
    async record(withVoice) {
      if (take) {
        return null;
      }
      try {
        if (withVoice && !stream) {
          stream = await navigator.mediaDevices.getUserMedia({ audio: true });
        }
      } catch {
        return "The microphone cannot be used: allow it in the browser, or record without the voice.";
      }
      player.pause();
      hands?.again();
      try {
        take = await beginTake({
          address: `${here}/takes`,
          token,
          step: present,
          stream: withVoice ? stream : null,
          waiting: (pieces) => {
            const place = document.querySelector("[data-walk=waiting]");
            if (place) {
              place.textContent = pieces > 2 ? `The bench is not reached; the recording goes on, ${pieces} seconds wait to be sent.` : "";
            }
          },
        });
      } catch (error) {
        letGo();
        return error instanceof Error ? error.message : String(error);
      }
      const began = hands?.seen();
      if (began) {
        take.view(began.view);
        if (began.window) {
          take.window(began.window);
        }
      }
      clock = window.setInterval(() => {
        say(`Recording, ${Math.floor(take?.seconds() ?? 0)} s`);
        const refused = take?.refused();
        if (refused) {
          clearInterval(clock);
          page.invokeMethodAsync("OnRefused", refused).catch(() => {});
        }
      }, 250);
      say("Recording, 0 s");
      return null;
    },
    /**
     * Ends the recording.
     * @param {boolean} goesOn whether another follows: the microphone stays open
     * @returns {Promise<{ take: string | null, reason: string | null }>}
     */
    async stop(goesOn) {
      const ended = take;
      clearInterval(clock);
      say("");
      if (!goesOn) {
        letGo();
      }
      if (!ended) {
        return { take: null, reason: null };
      }
      try {
        return { take: await ended.stop(), reason: null };
      } catch (error) {
        return { take: ended.take, reason: error instanceof Error ? error.message : String(error) };
      } finally {
        take = null;
      }
    },
    end() {
      clearInterval(clock);
      ending.abort();
      letGo();
      hands?.stop();
      player.stop();
    },
  };
}
