// What stands beside the question: the valves of a simulated bench, and the picture of the unit.
import { byId, changed, draw, make } from "./dom.js";
import { key } from "./keys.js";
import { send } from "./link.js";

const TURNS = ["1", "1/4", "1/16", "all"];

export function showValves(valves) {
  const place = byId("valves");
  place.hidden = !valves;
  if (!changed("valves", valves)) return;
  const focused = document.activeElement?.dataset?.turns;
  place.replaceChildren();
  if (!valves) return;
  for (const valve of valves.valves) {
    const turn = (way, by) => {
      const button = key([make("small", {}, way), ` ${by}`], `${valve.name} ${way} ${by}`, "turn");
      button.setAttribute("aria-label", `${valve.name} ${way} ${by}`);
      button.dataset.turns = `${valve.name} ${way} ${by}`;
      return button;
    };
    const knob = draw("svg", { viewBox: "0 0 100 100", class: "knob", "aria-hidden": "true" },
      draw("circle", { cx: 50, cy: 50, r: 44 }),
      draw("line", { x1: 50, y1: 50, x2: 50, y2: 12, transform: `rotate(${-360 * valve.turns} 50 50)` }));
    place.append(make("div", { class: "valve", role: "group", "aria-label": `${valve.name} valve` },
      knob,
      make("p", {}, make("b", {}, valve.name), make("span", {}, valve.stands)),
      make("div", { class: "turns" },
        ...["close", "open"].flatMap((way) => TURNS.map((by) => turn(way, by))))));
  }
  const doings = valves.doings.map(([line, does]) => {
    const button = key(line, line, "small");
    button.title = does;
    button.dataset.turns = line;
    return button;
  });
  if (doings.length > 0) place.append(make("div", { class: "doings", role: "group", "aria-label": "At the bench" }, ...doings));
  if (focused) [...place.querySelectorAll("[data-turns]")].find((one) => one.dataset.turns === focused)?.focus();
}

export function showPictures(pictures) {
  const place = byId("picture");
  place.hidden = pictures.length === 0;
  if (changed("pictures", pictures)) place.replaceChildren(...pictures.flatMap(pictureOf));
}

function pictureOf(picture) {
  const { ring } = picture;
  const circle = (port, look) => draw("circle", {
    cx: port.at[0], cy: port.at[1], r: ring, class: `ring ${look}`, "stroke-width": ring * (look === "outer" ? 0.75 : 0.35),
  });
  const dot = (port) => draw("circle", { cx: port.at[0], cy: port.at[1], r: ring * 0.6, class: "dot" });
  // A small ring hides nothing; that it is found, the name on a ground of its own sees to.
  const tag = ({ tag: { area: [left, top, right, bottom] } }) => draw("rect", {
    x: left, y: top, width: right - left, height: bottom - top, rx: ring / 3, class: "tag",
  });
  const named = ({ name, is_ringed, tag: { anchor, at: [x, y], area: [left, , right] } }) => draw("text", {
    ...(is_ringed ? { x: (left + right) / 2, class: "port meant", "text-anchor": "middle" } : { x, class: "port", "text-anchor": anchor }),
    y, "font-size": picture.letter, "stroke-width": picture.letter / 4,
  }, name);
  const drawn = picture.ports.flatMap((port) => (port.is_ringed ? [circle(port, "outer"), circle(port, "inner")] : [dot(port)]));
  const ringed = picture.ports.filter((port) => port.is_ringed);
  const names = ringed.map((port) => port.name).join(", ");
  const told = [picture.shows, names && `ringed: port ${names}`].filter(Boolean).join("; ");
  const image = { href: `/picture/${encodeURIComponent(picture.name)}`, width: picture.width, height: picture.height };
  const drawing = draw("svg", { viewBox: `0 0 ${picture.width} ${picture.height}`, role: "img", "aria-label": told },
    draw("rect", { width: picture.width, height: picture.height, class: "paper" }), draw("image", image),
    ...drawn, ...ringed.map(tag), ...picture.ports.map(named));
  if (picture.takes_place) {
    drawing.classList.add("clicked");
    drawing.addEventListener("click", (event) => {
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
      const [x, y] = [Math.floor(at.x), Math.floor(at.y)];
      // Beside the picture there may be room that belongs to its drawing.
      if (x >= 0 && y >= 0 && x < picture.width && y < picture.height) send(`${x} ${y}`);
    });
  }
  // Of a session's other words only one says something there.
  const back = picture.takes_place ? [key("Back to the port before", "back", "small")] : [];
  return [drawing, make("p", { "aria-hidden": "true" }, names ? `ringed: port ${names}` : picture.shows), ...back];
}
