"use strict";
// Shows the live weight and says what was recorded. Everything else on the page works without it.
const live = document.getElementById("live");
const field = (id) => document.getElementById(id);
const words = { absent: "scale absent", silent: "scale silent" };
let lastDrop = null;
let sound = null;

// A short tone: low for what needs a look, high for recorded. Browsers allow it only after the page was touched once.
function tone(hertz) {
  try {
    sound = sound || new AudioContext();
    const wave = sound.createOscillator();
    wave.frequency.value = hertz;
    wave.connect(sound.destination);
    wave.start();
    wave.stop(sound.currentTime + 0.2);
  } catch (refused) { sound = null; }
}

function flash(kind, word, hertz) {
  field("news").textContent = word;
  live.classList.remove("recorded", "unassigned");
  live.classList.add(kind);
  setTimeout(() => live.classList.remove(kind), 1500);
  tone(hertz);
}

function show(now) {
  if (live.dataset.scale !== now.live.scale && now.live.scale === "absent") {
    flash("unassigned", "scale gone", 220);
  }
  live.dataset.scale = now.live.scale;
  field("shown").textContent = now.live.shown === null ? "–" : now.live.shown;
  field("unit").textContent = now.live.unit || "";
  const rest = now.live.settled ? "at rest" : "moving";
  field("state").textContent = now.live.not_recorded || words[now.live.scale] || now.live.flags.join(", ") || rest;
  const newest = now.last_drops.find((drop) => drop.state === "confirmed" || drop.state === "provisional");
  const mark = newest ? newest.id + newest.state : "";
  if (lastDrop !== null && newest && mark !== lastDrop && newest.state === "confirmed") {
    const where = newest.bin === null ? "no bin yet" : "bin " + newest.bin;
    const kind = newest.bin === null ? "unassigned" : "recorded";
    flash(kind, "recorded: " + newest.mass.kg + " kg, " + where, newest.bin === null ? 330 : 880);
  }
  lastDrop = mark;
  const bin = now.bin;
  field("bin").textContent = bin === null ? "no bin yet" : bin.number + " " + (bin.name || bin.grade || "");
  field("content").textContent = bin === null
    ? "What is dropped now is kept without a bin."
    : bin.mass.kg + " kg · " + bin.mass.lb + " lb in it";
  rows(now.last_drops);
}

function rows(drops) {
  const body = field("drops");
  if (!body) { return; }
  const known = new Map(Array.from(body.rows, (row) => [row.cells[0].textContent, row]));
  for (const drop of drops.slice().reverse()) {
    let row = known.get(String(drop.id));
    if (!row) {
      row = body.insertRow(0);
      for (let cell = 0; cell < 6; cell += 1) { row.insertCell(); }
      row.cells[1].className = row.cells[2].className = "figure";
    }
    const bin = drop.bin === null ? "no bin yet" : String(drop.bin);
    const state = drop.state + (drop.doubt ? ": " + drop.doubt : "");
    [String(drop.id), drop.mass.kg, drop.mass.lb, bin, state].forEach((text, cell) => { row.cells[cell].textContent = text; });
    row.dataset.state = drop.state;
  }
}

let stream = null;
function open() {
  stream = new EventSource("/v1/benches/" + live.dataset.bench + "/live");
  stream.onmessage = (event) => show(JSON.parse(event.data));
  stream.onerror = () => { field("state").textContent = "no word from the daemon"; };
}
// Browsers allow six connections to one place: a hidden tab gives its own back.
document.addEventListener("visibilitychange", () => {
  if (document.hidden) { stream.close(); } else { open(); }
});
open();
