// Opens a link to a round: what stands behind the # goes to the bench in a request's body, and out of the address.

const state = document.querySelector("[data-round=state]");

/** @param {string} words */
function say(words) {
  if (state) {
    state.textContent = words;
  }
}

async function join() {
  const given = location.hash.slice(1);
  const [round, secret] = given.split(".");
  if (!secret) {
    say("Open the link that you were sent: this address lets nobody in by itself.");
    return;
  }
  history.replaceState(null, "", location.pathname);
  try {
    const answer = await fetch("/rounds/join", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ round, secret }),
    });
    if (answer.ok) {
      location.replace((await answer.json()).address);
    } else if (answer.status === 429) {
      say(await answer.text());
    } else {
      say((await answer.json()).detail);
    }
  } catch {
    say("The bench does not answer. Open the link again in a while.");
  }
}

join();
