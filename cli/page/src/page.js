"use strict";
// The page moves text: every number, unit, word and picture is made by the engine, which escapes what it shows.
const at = (id) => document.getElementById(id);
const data = JSON.parse(at("data").textContent);

const SETTLES = 250; // ms without a move, until the careful answer is asked for
const STALE = 300; // ms of careful work that is ended rather than awaited when a number moves
const LATE = 50; // ms of a quick answer, from which on the next ones are less exact
const SLOW = 150; // ms of a quick answer, from which on a slider is answered when it is let go
const TOLERANCES = [0.1, 0.25]; // K

const SAYS = {
  computing: "Computing. What is shown is from before the last change.",
  release: "This case takes longer than a moment. The page answers when the slider is let go. What is shown is from before.",
  moving: "Quick numbers. A careful answer follows.",
  settled: "Careful answer: these are the numbers of quenchway run.",
  wrong: "There is no answer for these numbers. What is shown is from before.",
  trap: "The engine stopped at these numbers. Please send the case to whoever looks after this program. What is shown is from before.",
  old: "This browser is too old for the page. It takes one of 2023 or later.",
};

const state = {
  moved: {}, // texts by key path, as they were typed or slid
  before: null, // the same of the answer that is kept
  us: data.us,
  station: null, // index; the engine takes the last where nobody chose
  asked: 0, // number of the last change
  shown: 0, // number of the change whose answer is shown
  settled: 0, // the same of a careful answer
  level: 0, // index in TOLERANCES
  late: 0, // slow answers in a row
  slow: false,
  programme: false,
};
const controls = new Map(); // by key path: the elements, and what the engine told last
const drawn = {}; // what each part of the page shows
let compiled, quick, careful, timer, workerUrl;

/** An engine in a worker of its own: one wish at a time; the newest waits, and what must be answered waits before it. */
class Engine {
  constructor(take) {
    this.take = take;
    this.memory = 0;
    this.start();
  }

  start() {
    this.worker?.terminate();
    [this.busy, this.waiting, this.must] = [null, null, []];
    this.worker = new Worker(workerUrl);
    this.worker.onmessage = ({ data: { told, trap, memory } }) => {
      const wish = this.busy;
      this.busy = null;
      if (trap) return stopped(this, wish);
      this.memory = memory;
      this.next();
      (wish.take ?? this.take)(wish, JSON.parse(told));
    };
    this.worker.onerror = () => stopped(this, this.busy);
    this.worker.postMessage({ engine: compiled, text: data.case });
  }

  ask(wish) {
    this.waiting = wish;
    this.next();
  }

  next() {
    if (this.busy || !(this.must.length || this.waiting)) return;
    this.busy = this.must.shift() ?? this.waiting;
    if (this.busy === this.waiting) this.waiting = null;
    this.busy.since = performance.now();
    this.worker.postMessage({ wish: JSON.stringify(this.busy.text) });
  }

  /** The answer of a wish that no later one may replace. */
  answer(text) {
    return new Promise((take) => {
      this.must.push({ text, take: (_, told) => take(told) });
      this.next();
    });
  }
}

/** What the engine is asked for the numbers as they are now. */
function wish(ask) {
  const { moved, before, us, level } = state;
  const text = { ask, moved: { ...moved }, before, us, station: state.station, width: at("line").clientWidth };
  text.tolerance = TOLERANCES[level];
  return { number: state.asked, text };
}

/** A number, or how it is shown, has changed. */
function changed({ release = true, at_once = false } = {}) {
  state.asked += 1;
  clearTimeout(timer);
  // A quick verdict is short: what stands below it must not jump while somebody holds a slider.
  at("answer").style.minHeight = `${Math.min(at("answer").offsetHeight, innerHeight / 2)}px`;
  careful.waiting = null;
  if (careful.busy && performance.now() - careful.busy.since > STALE) careful.start();
  says(state.slow && !release ? "release" : "computing");
  mark();
  if (!state.slow || release) quick.ask(wish("quick"));
  timer = setTimeout(() => careful.ask(wish("careful")), at_once ? 0 : SETTLES);
}

function says(what) {
  if (document.body.dataset.state === what) return;
  document.body.dataset.state = what;
  at("state").textContent = SAYS[what];
}

/** Marks what is older than the numbers. */
function mark() {
  for (const part of document.querySelectorAll("[data-of]")) {
    part.classList.toggle("old", Number(part.dataset.of) !== state.asked);
  }
}

/** Shows a part of an answer; one that the answer leaves out stays, marked as older. */
function put(id, html, number) {
  if (html === undefined) return;
  if (drawn[id] !== html) at(id).innerHTML = drawn[id] = html;
  at(id).dataset.of = number;
}

/** An answer of the quick engine: drawn, unless a later one or a careful one is there. */
function tookQuick(wish, told) {
  const took = performance.now() - wish.since;
  state.late = took > (state.level ? SLOW : LATE) ? state.late + 1 : 0;
  if (state.level && took < SLOW / 2) state.slow = false;
  if (state.late > 1 && state.level) state.slow = true;
  if (state.late > 1) [state.level, state.late] = [1, 0];
  if (wish.number <= state.shown || wish.number === state.settled) return;
  show(wish, told, "moving");
}

/** An answer of the careful engine: drawn where no number has moved since; then it is asked what follows from it. */
function tookCareful(wish, told) {
  if (wish.number !== state.asked) return;
  const ask = wish.text.ask;
  if (ask === "careful") {
    show(wish, told, "settled");
    if (!told.wrong) follow("design");
  } else {
    put(ask, told[ask] ?? "", wish.number);
    if (told.wrong) drawn[ask] = at(ask).textContent = told.wrong.message;
    mark();
    if (ask === "design" && state.programme) follow("drive");
  }
}

function follow(ask) {
  careful.ask(wish(ask));
}

function show(wish, told, what) {
  const { number } = wish;
  state.shown = number;
  wrong(told.wrong);
  if (told.controls) update(told.controls, number);
  if (told.wrong) {
    says("wrong");
    mark();
    return;
  }
  [state.programme, state.settled] = [told.programme, what === "settled" ? number : state.settled];
  at("programme").hidden = !told.programme;
  stations(told.stations ?? []);
  at("about").textContent = told.about;
  put("verdict", told.verdict, number);
  for (const part of ["line", "profile", "tables", "more", "notes", "cautions"]) put(part, told[part], number);
  at("verdict").dataset.tone = at("verdict").querySelector("strong")?.className ?? "plain";
  if (what === "settled") {
    at("answer").style.minHeight = "";
    inputs();
    at("told").textContent = at("verdict").textContent;
  }
  // An answer that is not of the last change says so.
  says(number === state.asked ? what : "computing");
  mark();
}

function wrong(told) {
  at("wrong").hidden = !told;
  at("wrong").textContent = told ? told.message : "";
  for (const [path, { field }] of controls) {
    const blamed = told?.path === path;
    field.toggleAttribute("aria-invalid", blamed);
    if (blamed) field.setAttribute("aria-invalid", "true");
    if (blamed) field.setAttribute("aria-describedby", "wrong");
    else field.removeAttribute("aria-describedby");
  }
}

/** The engine stopped: it is begun anew, and what is shown is marked. */
function stopped(engine, wish) {
  engine.start();
  if (wish?.take) wish.take(wish, { wrong: { message: SAYS.trap, path: "" } });
  says("trap");
  mark();
}

function make(name, attributes, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}

/** Fields and sliders, made once; later only their values change, but for what is in somebody's hand. */
function update(groups, number) {
  for (const { name, controls: list } of groups) {
    let set;
    for (const told of list) {
      if (!controls.has(told.path)) {
        set ??= at("numbers").appendChild(make("fieldset", {}, make("legend", {}, name)));
        set.append(control(told));
      }
      refresh(told, number);
    }
  }
}

function control({ path, label }) {
  const id = `n${controls.size}`;
  const field = make("input", { type: "text", id, autocomplete: "off", spellcheck: "false" });
  const slider = make("input", { type: "range", id: `${id}s`, "aria-label": label });
  const from = make("span", { class: "from" });
  const one = { field, slider, from, told: null, since: 0 };
  slider.addEventListener("input", () => {
    const text = `${Number(slider.value).toFixed(one.told.decimals)} ${one.told.unit}`.trim();
    [field.value, state.moved[path]] = [text, text];
    slider.setAttribute("aria-valuetext", text);
    changed({ release: false });
    one.since = state.asked;
  });
  slider.addEventListener("change", () => {
    if (state.slow) changed();
  });
  field.addEventListener("change", () => {
    const text = typed(field.value, one.told.unit);
    if (text === one.told.text) return;
    if (text) state.moved[path] = text;
    else delete state.moved[path];
    one.typed = true;
    changed();
    one.since = state.asked;
  });
  controls.set(path, one);
  return make("div", { class: "control" }, make("label", { for: id }, label), field, slider, from);
}

/** A decimal comma is a point, and a bare number has the unit that is shown. */
function typed(text, unit) {
  const point = text.trim().replace(/^([-+]?\d+),(\d+(?:\D.*)?)$/, "$1.$2");
  return /^[-+]?[\d.]+(?:e[-+]?\d+)?$/i.test(point) && unit ? `${point} ${unit}` : point;
}

/** A control as an answer has it, unless it has moved since that was asked. */
function refresh(told, number) {
  const one = controls.get(told.path);
  if (number < one.since) return;
  const { field, slider, from } = one;
  const said = JSON.stringify(told);
  if (one.said === said && !one.typed && field.value === told.text) return;
  [one.told, one.said] = [told, said];
  const held = document.activeElement;
  // A text that somebody is typing, or that is refused, stays as it is.
  if (field.getAttribute("aria-invalid") !== "true" && (held !== field || one.typed)) field.value = told.text;
  one.typed = false;
  if (held !== slider) {
    [slider.min, slider.max, slider.step] = [told.low, told.high, told.step];
    slider.value = told.value;
  }
  slider.setAttribute("aria-valuetext", field.value);
  from.textContent = told.from ? `file: ${told.from}` : "";
}

/** The numbers as a table, for paper: what they are, and what the file has where they were moved. */
function inputs() {
  const cell = (name, text) => make(name, name === "th" ? { scope: "row" } : {}, text);
  const row = ([, { told, field }]) => {
    const label = field.previousElementSibling.textContent;
    return make("tr", {}, cell("th", label), cell("td", told.text), cell("td", told.from ?? ""));
  };
  at("inputs").replaceChildren(...[...controls].map(row));
}

function stations(names) {
  const choice = at("station");
  if (choice.options.length !== names.length) {
    choice.replaceChildren(...names.map((name, index) => make("option", { value: index }, name)));
    state.station = names.length - 1;
    choice.value = state.station;
  }
  at("across").hidden = !names.length;
}

function onClick(id, act) {
  at(id).addEventListener("click", act);
}

function units() {
  at("units").textContent = state.us ? "Show SI units" : "Show US units";
}

function kept() {
  at("keep").textContent = state.before ? "Forget the answer before" : "Keep this answer as before";
  at("before").hidden = !state.before;
}

onClick("keep", () => {
  state.before = state.before ? null : { ...state.moved };
  kept();
  changed({ at_once: true });
});

/** Every field takes what the next answer says, even one that somebody stands in. */
function anew() {
  for (const one of controls.values()) one.typed = true;
}

onClick("reset", () => {
  state.moved = {};
  anew();
  changed();
});

onClick("units", () => {
  state.us = !state.us;
  units();
  anew();
  changed({ at_once: true });
});

onClick("save", async () => {
  const stamp = `on ${new Date().toISOString().slice(0, 10)} on a page of ${data.program}; from ${data.name}.toml, SHA-256 ${data.sha256}`;
  const told = await quick.answer({ ...wish("save").text, stamp });
  if (told.wrong) return wrong(told.wrong);
  const link = make("a", { download: `${data.name}-tried.toml` });
  link.href = URL.createObjectURL(new Blob([told.text], { type: "application/toml" }));
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
});

onClick("print", () => print());
at("station").addEventListener("change", () => {
  state.station = Number(at("station").value);
  changed({ at_once: true });
});
at("numbers").addEventListener("submit", (event) => event.preventDefault());
addEventListener("beforeprint", () => {
  at("printed").textContent = new Date().toLocaleString();
});

/** So many bytes of a text that has seven bits a letter, as `sheet.rs` writes it. */
function bytes(text, count) {
  const [values, notHeld] = [new Uint8Array(count), [0, 13, 60]];
  let [bits, held, place] = [0, 0, 0];
  for (let letter = 0; place < count; letter += 1) {
    const code = text.charCodeAt(letter);
    bits = (bits << 7) | (code < 128 ? code : notHeld[code - 192]);
    held += 7;
    if (held >= 8) {
      held -= 8;
      values[place] = bits >> held;
      place += 1;
      bits &= 127;
    }
  }
  return values;
}

async function begin() {
  units();
  if (typeof WebAssembly === "undefined" || typeof DecompressionStream === "undefined") {
    says("old");
    return;
  }
  const { textContent, dataset } = at("engine");
  const packed = bytes(textContent, Number(dataset.bytes));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  compiled = await WebAssembly.compile(await new Response(stream).arrayBuffer());
  at("engine").remove();
  workerUrl = URL.createObjectURL(new Blob([at("worker").textContent], { type: "text/javascript" }));
  quick = new Engine(tookQuick);
  careful = new Engine(tookCareful);
  let width = at("line").clientWidth;
  new ResizeObserver(() => {
    if (Math.abs(at("line").clientWidth - width) < 2) return;
    width = at("line").clientWidth;
    changed();
  }).observe(at("line"));
  changed({ at_once: true });
}

begin();
