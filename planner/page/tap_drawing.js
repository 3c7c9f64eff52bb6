// A drawing that says where it was tapped, in metres of its own frame.
// Nothing is fetched; the drawing comes as SVG text and is read as XML, never as HTML.
export default function (component) {
  const { data, setTriggerValue, parentElement } = component;
  const root = parentElement.querySelector(".tap-drawing");
  root.setAttribute("aria-label", data.alt);
  if (root.dataset.svg !== data.svg) {
    const read = new DOMParser().parseFromString(data.svg, "image/svg+xml");
    if (read.querySelector("parsererror, script, foreignObject")) return;
    root.replaceChildren(document.importNode(read.documentElement, true));
    root.dataset.svg = data.svg;
  }
  const svg = root.querySelector("svg");
  const [left, top, scale] = data.view;

  const pixels = (event) =>
    new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const tell = (at, dragged) =>
    setTriggerValue("tap", {
      x: left + at.x / scale,
      y: top - at.y / scale,
      dragged,
      about: data.about,
    });

  let justDragged = false;
  svg.onclick = (event) => {
    if (justDragged) justDragged = false;
    else tell(pixels(event), false);
  };

  root.querySelectorAll(".handle").forEach((old) => old.remove());
  if (!data.handle) return;
  const make = (name, attributes) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };
  const group = make("g", { class: "handle" });
  const line = make("line", { class: "way", visibility: "hidden" });
  const grip = make("circle", { class: "grip", cx: data.handle[0], cy: data.handle[1], r: 22 });
  group.append(line, grip);
  svg.append(group);
  grip.onpointerdown = (event) => {
    const start = pixels(event);
    grip.setPointerCapture(event.pointerId);
    grip.onpointermove = (move) => {
      const at = pixels(move);
      if (Math.hypot(at.x - start.x, at.y - start.y) > 4) justDragged = true;
      if (!justDragged) return;
      for (const [key, value] of Object.entries({
        x1: data.ball[0], y1: data.ball[1], x2: at.x, y2: at.y, visibility: "visible",
      })) line.setAttribute(key, value);
      grip.setAttribute("cx", at.x);
      grip.setAttribute("cy", at.y);
    };
    const stop = () => {
      grip.onpointermove = grip.onpointerup = grip.onpointercancel = null;
    };
    grip.onpointerup = (up) => {
      stop();
      if (justDragged) tell(pixels(up), true);
    };
    grip.onpointercancel = () => {
      stop();
      justDragged = false;
      line.setAttribute("visibility", "hidden");
    };
  };
}
