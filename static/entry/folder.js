"use strict";
// A folder can be chosen or dropped where the browser can do it; without this file one chooses the files in it.
(function () {
  const field = document.getElementById("folder-field");
  const input = document.getElementById("id_folder");
  if (field && input && "webkitdirectory" in input) { input.webkitdirectory = true; field.hidden = false; }

  function filesIn(entry) {
    if (entry.isFile) return new Promise((done) => entry.file((file) => done([file]), () => done([])));
    const reader = entry.createReader();
    const all = [];
    // A reader hands out its entries in parts; an empty part is the end.
    const next = () => new Promise((done) => reader.readEntries(done, () => done([])))
      .then((part) => { all.push(...part); return part.length ? next() : all; });
    return next().then((entries) => Promise.all(entries.map(filesIn))).then((lists) => lists.flat());
  }

  document.addEventListener("drop", (event) => {
    const zone = event.target.closest(".drop");
    if (!zone || !event.dataTransfer) return;
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry && item.webkitGetAsEntry()).filter(Boolean);
    if (!entries.some((entry) => entry.isDirectory)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    zone.classList.remove("over");
    Promise.all(entries.map(filesIn)).then((lists) => {
      const chosen = new DataTransfer();
      for (const file of lists.flat()) if (!file.name.startsWith(".")) chosen.items.add(file);
      const pictures = zone.querySelector("input[type=file]");
      pictures.files = chosen.files;
      pictures.dispatchEvent(new Event("change", { bubbles: true }));
    });
  }, true);
})();
