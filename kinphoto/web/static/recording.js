// Records in the page where the browser can: what was recorded takes the place of a file that was chosen.

import { WORDS } from "./words.js";

const form = document.getElementById("telling"), button = document.getElementById("record");
const status = document.getElementById("recorded"), field = form.elements.sound;
const KINDS = [["audio/webm;codecs=opus", "webm"], ["audio/ogg;codecs=opus", "ogg"], ["audio/mp4", "m4a"]];
const kind = window.MediaRecorder && KINDS.find(([type]) => MediaRecorder.isTypeSupported(type));
let recorder = null, timer = 0;

if (kind && navigator.mediaDevices?.getUserMedia) document.getElementById("recorder").hidden = false;

function minutes(seconds) {
  return `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
}

async function begin() {
  let microphone;
  try {
    microphone = await navigator.mediaDevices.getUserMedia({ audio: true });
  } catch (problem) {
    status.textContent = problem.name === "NotFoundError" ? WORDS.noMicrophone : WORDS.noPermission;
    return;
  }
  const pieces = [], started = Date.now();
  recorder = new MediaRecorder(microphone, { mimeType: kind[0], audioBitsPerSecond: 96000 });
  recorder.addEventListener("dataavailable", (event) => pieces.push(event.data));
  recorder.addEventListener("stop", () => {
    clearInterval(timer);
    microphone.getTracks().forEach((track) => track.stop());
    keep(new Blob(pieces, { type: kind[0].split(";")[0] }));
    button.textContent = WORDS.recordAgain;
    recorder = null;
  });
  recorder.start(1000);
  button.textContent = WORDS.stop;
  status.replaceChildren(WORDS.recording(minutes(0)));
  timer = setInterval(() => status.replaceChildren(WORDS.recording(minutes((Date.now() - started) / 1000))), 1000);
}

function keep(sound) {
  const day = new Date().toISOString().slice(0, 10), files = new DataTransfer();
  files.items.add(new File([sound], `recorded ${day}.${kind[1]}`, { type: sound.type }));
  field.files = files.files;
  const heard = Object.assign(document.createElement("audio"), { controls: true, src: URL.createObjectURL(sound) });
  heard.setAttribute("aria-label", WORDS.recorded);
  status.replaceChildren(heard);
}

button.addEventListener("click", () => (recorder ? recorder.stop() : begin()));
form.addEventListener("submit", (event) => {
  if (!recorder) return;
  event.preventDefault();
  recorder.addEventListener("stop", () => form.requestSubmit());
  recorder.stop();
});
window.addEventListener("beforeunload", (event) => { if (recorder) event.preventDefault(); });
