"use strict";
// Marking works without this file: two taps, or four numbers. With it one drags over the face, or uses the arrow keys.
(function () {
  const image = document.querySelector(".tap-stage input[type=image]");
  if (!image) return;
  const form = image.form, stage = image.parentElement, svg = stage.querySelector("svg");
  const names = ["left", "top", "width", "height"];
  const field = (name) => form.elements.namedItem(name);
  const whole = svg.viewBox.baseVal;
  document.documentElement.classList.add("has-script");
  stage.classList.add("wide");
  image.src = image.dataset.large;
  image.alt = "Drag over a face, or use the arrow keys, to draw its rectangle";

  function part(className) {
    const found = svg.querySelector("." + className);
    if (found) return found;
    const made = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    made.setAttribute("class", className);
    svg.append(made);
    return made;
  }
  function show(sides) {
    for (const name of ["mark-halo-now", "mark-now"]) {
      const rect = part(name);
      rect.setAttribute("x", sides[0] / 100 * whole.width);
      rect.setAttribute("y", sides[1] / 100 * whole.height);
      rect.setAttribute("width", sides[2] / 100 * whole.width);
      rect.setAttribute("height", sides[3] / 100 * whole.height);
    }
  }
  const read = () => names.map((name) => field(name).value.trim() === "" ? NaN : Number(field(name).value.replace(",", ".")));
  function fill(sides) {
    field("corner").value = "";
    names.forEach((name, i) => { field(name).value = String(Math.round(sides[i] * 100) / 100); });
    show(sides);
  }
  const clamp = (value, most) => Math.min(Math.max(value, 0), most);
  function at(event) {
    const box = image.getBoundingClientRect();
    return [clamp((event.clientX - box.left) / box.width * 100, 100), clamp((event.clientY - box.top) / box.height * 100, 100)];
  }

  let start = null, corner = null, dragged = false;
  const between = (a, b) => [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.abs(a[0] - b[0]), Math.abs(a[1] - b[1])];
  image.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    start = at(event);
    dragged = false;
    image.setPointerCapture(event.pointerId);
    event.preventDefault();
    image.focus({ preventScroll: true });
  });
  image.addEventListener("pointermove", (event) => {
    if (!start) return;
    const sides = between(start, at(event));
    if (sides[2] > 0.7 && sides[3] > 0.7) { dragged = true; corner = null; fill(sides); }
  });
  image.addEventListener("pointerup", (event) => {
    if (!start) return;
    if (!dragged) {
      // Two taps do as well as a drag.
      const here = at(event);
      if (corner) { const sides = between(corner, here); corner = null; if (sides[2] > 0.5 && sides[3] > 0.5) fill(sides); }
      else { corner = here; show([here[0] - 1, here[1] - 1, 2, 2]); }
    }
    start = null;
    if (dragged && !field("person").value) field("person").focus();
  });
  image.addEventListener("pointercancel", () => { start = null; });
  image.addEventListener("dragstart", (event) => event.preventDefault());
  // A click by the mouse was a tap; the Enter key sends the form as it does everywhere.
  image.addEventListener("click", (event) => { if (event.detail > 0) event.preventDefault(); });

  image.addEventListener("keydown", (event) => {
    const move = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!move || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    let sides = read();
    if (sides.some(Number.isNaN)) sides = [40, 40, 20, 20];
    else if (event.shiftKey) sides = [sides[0], sides[1], sides[2] + move[0], sides[3] + move[1]];
    else sides = [sides[0] + move[0], sides[1] + move[1], sides[2], sides[3]];
    sides[2] = Math.min(Math.max(sides[2], 1), 100);
    sides[3] = Math.min(Math.max(sides[3], 1), 100);
    sides[0] = clamp(sides[0], 100 - sides[2]);
    sides[1] = clamp(sides[1], 100 - sides[3]);
    fill(sides);
    const live = document.getElementById("live");
    if (live) live.textContent = "From the left " + sides[0].toFixed(0) + ", from the top " + sides[1].toFixed(0) + ", width " + sides[2].toFixed(0) + ", height " + sides[3].toFixed(0) + " percent";
  });
  for (const name of names) {
    field(name).addEventListener("input", () => { const sides = read(); if (!sides.some(Number.isNaN)) show(sides); });
  }
})();
