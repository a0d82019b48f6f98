// Runs a build sheet's own script on a stand-in for the browser's page, moves its slider, and tells what it shows.
import { readFileSync } from "node:fs";

const [page, asked] = process.argv.slice(2).map((name) => readFileSync(name, "utf8"));
const turns = JSON.parse(asked);

class Thing {
  constructor() { this.attributes = {}; this.listeners = {}; this.textContent = ""; this.value = ""; this.hidden = true; }
  setAttribute(name, value) { this.attributes[name] = value; }
  addEventListener(name, told) { this.listeners[name] = told; }
}

const things = {};
for (const [, id] of page.matchAll(/<[^>]* id="([^"]+)"/g)) { things[id] = new Thing(); }
const data = page.match(/<script type="application\/json" id="turn-rows">(.*?)<\/script>/s)[1];
things["turn-rows"].textContent = data;
things.turn.value = page.match(/<input type="range" id="turn"[^>]* value="([^"]+)"/)[1];
globalThis.document = {
  getElementById(id) {
    if (!(id in things)) { throw new Error("the page has no element " + id); }
    return things[id];
  },
};

const script = page.match(/<script>(.*?)<\/script>/s)[1];
(0, eval)(script);

function seen() {
  const wheels = Object.keys(things).filter((id) => id.startsWith("wheel-")).length;
  const found = [];
  for (let n = 0; n < wheels; n += 1) {
    found.push({
      transform: things["wheel-" + n].attributes.transform,
      angle: things["angle-" + n].textContent,
      speed: Number(things["speed-" + n].textContent),
      drag: Number(things["drag-" + n].textContent),
    });
  }
  return {
    turn: things["turn-shown"].textContent,
    radius: things.radius.textContent,
    centre: { ...things.centre.attributes },
    controls: things.controls.hidden,
    wheels: found,
  };
}

const answers = [seen()];
for (const turn of turns) {
  things.turn.value = String(turn);
  things.turn.listeners.input();
  answers.push(seen());
}
things["mark-0"].listeners.click();
answers.push(seen());
console.log(JSON.stringify(answers));
