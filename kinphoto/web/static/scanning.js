// The page at the scanner: asks twice a second whether something new was seen, shows it, and sounds good or bad.

import { refresh } from "./page.js";

const button = document.getElementById("sound"), box = document.getElementById("box");
let number = Number(document.getElementById("glass").dataset.number);
let sounds = null;

// The name of a new box takes the place of the old one's.
box.addEventListener("focus", () => box.select());

if (button) button.hidden = !("AudioContext" in window);
button?.addEventListener("click", () => {
  sounds = sounds ? null : new AudioContext();
  button.setAttribute("aria-pressed", String(Boolean(sounds)));
  if (sounds) play(true);
});

/** One high tone for good, two low ones for bad. */
function play(good) {
  for (const [start, pitch] of good ? [[0, 880]] : [[0, 220], [0.25, 220]]) {
    const tone = new OscillatorNode(sounds, { frequency: pitch }), volume = new GainNode(sounds, { gain: 0.2 });
    tone.connect(volume).connect(sounds.destination);
    tone.start(sounds.currentTime + start);
    tone.stop(sounds.currentTime + start + 0.18);
  }
}

async function look() {
  const answer = document.hidden && !sounds ? null : await fetch(`/scanning/state?since=${number}`).catch(() => null);
  if (answer?.ok) {
    const now = await answer.json();
    if (now.number !== number) {
      number = now.number;
      await refresh();
      if (sounds && (now.scans || !now.good)) play(now.good);
    }
  }
  setTimeout(look, 500);
}
look();
