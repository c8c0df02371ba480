// What stands beside the question: the valves of a simulated bench, and the picture of the unit.
import { plain } from "./dial.js";
import { byId, changed, draw, make } from "./dom.js";
import { key } from "./keys.js";

const TURNS = ["1", "1/4", "1/16"];

export function showValves(valves) {
  const place = byId("valves");
  place.hidden = !valves;
  if (!changed("valves", valves)) return;
  const focused = document.activeElement?.dataset?.turns;
  place.replaceChildren();
  if (!valves) return;
  for (const valve of valves.valves) {
    const turn = (way, by) => {
      const button = key(`${way === "close" ? "−" : "+"}${by}`, `${valve.name} ${way} ${by}`, "turn");
      button.setAttribute("aria-label", `${valve.name} ${way} ${by}`);
      button.dataset.turns = `${valve.name} ${way} ${by}`;
      return button;
    };
    const knob = draw("svg", { viewBox: "0 0 100 100", class: "knob", "aria-hidden": "true" },
      draw("circle", { cx: 50, cy: 50, r: 44 }),
      draw("line", { x1: 50, y1: 50, x2: 50, y2: 12, transform: `rotate(${-360 * valve.turns} 50 50)` }));
    place.append(make("div", { class: "valve", role: "group", "aria-label": `${valve.name} valve` },
      knob,
      make("p", {}, make("b", {}, valve.name), make("span", {}, `open ${plain(valve.turns)} turns`)),
      make("div", { class: "turns" },
        ...[...TURNS, "all"].map((by) => turn("close", by)), ...TURNS.map((by) => turn("open", by)))));
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

export function showPicture(picture) {
  const place = byId("picture");
  place.hidden = !picture;
  if (!changed("picture", picture)) return;
  place.replaceChildren();
  if (!picture) return;
  const radius = Math.max(picture.width, picture.height) / 22;
  const ringed = picture.ports.filter((port) => port.is_ringed);
  const rings = ringed.flatMap((port) => {
    const isLow = port.y < radius * 2.2;
    return [
      ...["outer", "inner"].map((look) => draw("circle", {
        cx: port.x, cy: port.y, r: radius, class: `ring ${look}`, "stroke-width": radius / (look === "outer" ? 2.2 : 5),
      })),
      draw("text", {
        x: port.x, y: isLow ? port.y + radius * 2.1 : port.y - radius * 1.35, class: "port", "font-size": radius * 1.1,
        "stroke-width": radius / 4,
      }, port.name),
    ];
  });
  const names = ringed.map((port) => port.name).join(", ");
  const told = [picture.shows, names && `ringed: port ${names}`].filter(Boolean).join("; ");
  place.append(
    draw("svg", { viewBox: `0 0 ${picture.width} ${picture.height}`, role: "img", "aria-label": told }, draw("image", { href: `/picture/${encodeURIComponent(picture.name)}`, width: picture.width, height: picture.height }), ...rings),
    make("p", { "aria-hidden": "true" }, told),
  );
}
