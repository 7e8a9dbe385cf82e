"use strict";
// Looking closely works without this file, by links. With it: wheel, pinch, double tap, drag, and the keys + − 0.
(function () {
  const pane = document.querySelector(".zoom-pane");
  const stage = pane && pane.querySelector(".stage");
  const image = stage && stage.querySelector("img");
  if (!image) return;
  document.documentElement.classList.add("has-script");
  const STEP = 1.25, MOST = 8;
  // From the attributes: before the first layout, on a busy computer, the picture itself has no size yet.
  const ratio = Number(image.getAttribute("height")) / Number(image.getAttribute("width"));
  let scale = 1, large = pane.classList.contains("large");
  pane.classList.add("live");

  function fit() {
    // The whole picture is seen: as wide as the pane with no scroll bar, or as high as three quarters of the screen.
    return Math.max(40, Math.min(pane.offsetWidth - 2, window.innerHeight * 0.75 / ratio));
  }
  function draw(next, x, y) {
    const box = pane.getBoundingClientRect();
    const atX = x === undefined ? box.width / 2 : x - box.left, atY = y === undefined ? box.height / 2 : y - box.top;
    const before = stage.clientWidth || 1;
    const left = (pane.scrollLeft + atX) / before, top = (pane.scrollTop + atY) / before;
    scale = Math.min(MOST, Math.max(1, next));
    stage.style.width = fit() * scale + "px";
    if (!large && fit() * scale * (window.devicePixelRatio || 1) > image.naturalWidth && image.naturalWidth) {
      large = true;
      image.src = pane.dataset.large;
    }
    const after = stage.clientWidth;
    pane.scrollLeft = left * after - atX;
    pane.scrollTop = top * after - atY;
  }
  const begin = () => draw(large && pane.classList.contains("large") ? Number(image.getAttribute("width")) / fit() : 1);
  begin();
  // The pane is measured anew whenever it, or the screen, changes: a style that comes late changes it too.
  window.addEventListener("resize", () => draw(scale));
  if (window.ResizeObserver) new ResizeObserver(() => draw(scale)).observe(pane);

  pane.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && scale === 1 && event.deltaY > 0) return; // let the page scroll on
    event.preventDefault();
    draw(scale * Math.exp(-event.deltaY / 400), event.clientX, event.clientY);
  }, { passive: false });
  pane.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "+" || event.key === "=") draw(scale * STEP);
    else if (event.key === "-" || event.key === "−") draw(scale / STEP);
    else if (event.key === "0") draw(1);
    else return; // arrows scroll the pane by themselves
    event.preventDefault();
  });

  const fingers = new Map();
  let apart = 0, began = 1, moved = false, lastTap = 0;
  const distance = () => {
    const [a, b] = [...fingers.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  };
  pane.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    moved = false;
    if (fingers.size === 2) { apart = distance(); began = scale; }
  });
  pane.addEventListener("pointermove", (event) => {
    const was = fingers.get(event.pointerId);
    if (!was) return;
    if (Math.hypot(event.clientX - was.x, event.clientY - was.y) > 4) moved = true;
    if (fingers.size === 1 && event.pointerType === "mouse") {
      pane.scrollLeft -= event.clientX - was.x;
      pane.scrollTop -= event.clientY - was.y;
    }
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (fingers.size === 2 && apart) {
      const [a, b] = [...fingers.values()];
      draw(began * distance() / apart, (a.x + b.x) / 2, (a.y + b.y) / 2);
    }
  });
  const end = (event) => {
    if (!fingers.delete(event.pointerId) || moved || event.type !== "pointerup") return;
    if (event.timeStamp - lastTap < 350) { draw(scale > 1.05 ? 1 : 2.5, event.clientX, event.clientY); lastTap = 0; }
    else lastTap = event.timeStamp;
  };
  for (const name of ["pointerup", "pointercancel", "pointerleave"]) pane.addEventListener(name, end);
  image.addEventListener("dragstart", (event) => event.preventDefault());
})();
