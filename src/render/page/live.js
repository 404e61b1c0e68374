"use strict";
// Shows the live weight and says what was recorded. Everything else on the page works without it.
const live = document.getElementById("live");
const field = (id) => document.getElementById(id);
const words = { absent: "scale absent", silent: "scale silent" };
let seen = null;
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

// Told by a shape, a word, the edge of the whole page and a tone, never by colour alone.
const shapes = { recorded: "\u25a0 ", unassigned: "\u25b2 ", gone: "\u2715 ", over: "\u25c6 " };
let calm = null;
function flash(kind, word, hertz) {
  field("news").textContent = shapes[kind] + word;
  document.body.dataset.flash = kind;
  clearTimeout(calm);
  calm = setTimeout(() => { delete document.body.dataset.flash; }, 2000);
  tone(hertz);
}

// A step is on the disk as soon as it shows, so it is told at once; a hand that goes away again takes it back.
function tell(drops) {
  const states = new Map(drops.map((drop) => [drop.id, drop.state]));
  for (const drop of seen === null ? [] : drops.slice().reverse()) {
    const before = seen.get(drop.id);
    const what = drop.mass.kg + " kg, " + (drop.bin === null ? "no bin yet" : "bin " + drop.bin);
    if (before === undefined && drop.state !== "cancelled") {
      flash(drop.bin === null ? "unassigned" : "recorded", "recorded: " + what, drop.bin === null ? 330 : 880);
    } else if (before !== undefined && before !== drop.state && drop.state === "cancelled") {
      flash("unassigned", "taken back: " + what, 330);
    }
  }
  seen = states;
}

function show(now) {
  if (live.dataset.scale !== now.live.scale && now.live.scale === "absent") {
    flash("gone", "scale gone", 220);
  }
  live.dataset.scale = now.live.scale;
  field("shown").textContent = now.live.shown === null ? "–" : now.live.shown;
  field("unit").textContent = now.live.unit || "";
  const rest = now.live.settled ? "at rest" : "moving";
  field("state").textContent =
    now.live.not_recorded || words[now.live.scale] || now.live.flags.join(", ") || rest;
  field("advice").textContent = now.live.advice || "";
  field("intake").textContent = now.intake === null ? ""
    : "The next load is weighed before it is taken apart" + (now.intake.feed ? " (" + now.intake.feed + ")" : "");
  field("check").textContent = now.check || "";
  suggest(now.live.suggestion);
  tell(now.last_drops);
  const bin = now.bin;
  target(bin === null ? ["", "no bin yet"] : [String(bin.number), bin.name || bin.grade || ""]);
  field("content").textContent = bin === null
    ? "What is dropped now is kept without a bin."
    : bin.mass.kg + " kg · " + bin.mass.lb + " lb in it";
  rows(now.last_drops);
}

// Another way of weighing, with the press that takes it.
function suggest(other) {
  const section = field("suggestion");
  section.hidden = other === null;
  if (other !== null) {
    section.querySelector("p").textContent = other.text;
    section.querySelector("button.yes").value = other.manner;
  }
}

// The number stands in a place of its own, since it is what is painted on the bin.
function target(words) {
  const parts = words.map((word, at) => {
    const part = document.createElement("span");
    part.className = at === 0 ? "number" : "";
    part.textContent = word;
    return part;
  });
  field("bin").replaceChildren(...parts.filter((part) => part.textContent !== ""));
}

function rows(drops) {
  const body = field("drops");
  const none = field("none");
  if (none && drops.length > 0) { none.remove(); }
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

// The countdown of a trial. Its end is told by a shape, a word, the edge of the page and three tones.
const countdown = field("countdown");
if (countdown !== null) {
  const end = Date.now() + 1000 * Number(countdown.dataset.left);
  const two = (number) => String(number).padStart(2, "0");
  const written = (seconds) => Math.floor(seconds / 3600) + ":" + two(Math.floor(seconds / 60) % 60) + ":" + two(seconds % 60);
  const set = written(Number(countdown.dataset.set));
  const count = () => {
    const left = Math.max(0, Math.ceil((end - Date.now()) / 1000));
    countdown.textContent = left > 0 ? written(left) + " left of " + set : "Time is up: " + set + " are over";
    return left;
  };
  if (count() > 0) {
    const ticking = setInterval(() => {
      if (count() > 0) { return; }
      clearInterval(ticking);
      flash("over", "time is up", 660);
      setTimeout(() => tone(880), 300);
      setTimeout(() => tone(660), 600);
    }, 250);
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
