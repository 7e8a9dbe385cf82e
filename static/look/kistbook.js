"use strict";
// Pages work without this file. It shows chosen pictures, tells how far an upload is, and warns before a file is too big.
(function () {
  const live = () => document.getElementById("live");
  const say = (words) => { const place = live(); if (place) place.textContent = words; };

  function showChosen(input) {
    let list = input.parentElement.querySelector(".chosen");
    if (!list) { list = document.createElement("ul"); list.className = "chosen"; input.after(list); }
    list.replaceChildren();
    const limit = Number(input.form.dataset.limitMb || 0) * 1048576;
    let total = 0;
    const many = input.files.length > 24; // then the first are named, and any that is too large
    for (const [place, file] of [...input.files].entries()) {
      total += file.size;
      if (many && place >= 9 && !(limit && file.size > limit)) continue;
      const row = document.createElement("li");
      if (/^image\/(jpeg|png|webp|gif)$/.test(file.type) && !many) {
        const picture = document.createElement("img");
        picture.alt = "";
        picture.src = URL.createObjectURL(file);
        picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
        row.append(picture);
      }
      const name = document.createElement("span");
      name.textContent = file.name;
      row.append(name);
      if (limit && file.size > limit) { row.className = "wrong"; row.append(" is over the limit"); }
      list.append(row);
    }
    if (many) {
      const rest = document.createElement("li");
      rest.textContent = "… " + input.files.length + " files in all";
      list.append(rest);
    }
    if (limit && total > limit) say("Together these files are over the limit. Send them in two goes.");
    else if (input.files.length) say(input.files.length + " chosen");
  }

  document.addEventListener("change", (event) => {
    if (event.target.matches("form[data-upload] input[type=file]")) showChosen(event.target);
  });

  for (const form of document.querySelectorAll("form[data-upload]")) {
    const input = form.querySelector("input[type=file]");
    const zone = form.querySelector(".drop");
    if (zone && input) {
      for (const name of ["dragenter", "dragover"]) zone.addEventListener(name, (e) => { e.preventDefault(); zone.classList.add("over"); });
      for (const name of ["dragleave", "drop"]) zone.addEventListener(name, (e) => { e.preventDefault(); zone.classList.remove("over"); });
      zone.addEventListener("drop", (e) => { input.files = e.dataTransfer.files; showChosen(input); });
    }
    form.addEventListener("submit", (event) => {
      if (!input || !input.files.length) return;
      event.preventDefault();
      const bar = document.createElement("progress");
      bar.max = 1;
      bar.setAttribute("aria-label", "How far the upload is");
      form.append(bar);
      for (const button of form.querySelectorAll("button")) button.disabled = true;
      const request = new XMLHttpRequest();
      request.open("POST", form.action || location.href);
      request.upload.addEventListener("progress", (e) => { if (e.lengthComputable) { bar.value = e.loaded / e.total; } });
      request.addEventListener("load", () => {
        // The answer is shown as it came: asking for the page anew would lose its "Saved".
        if (request.responseURL) history.replaceState(null, "", request.responseURL);
        document.open(); document.write(request.responseText); document.close();
      });
      request.addEventListener("error", () => {
        bar.remove();
        for (const button of form.querySelectorAll("button")) button.disabled = false;
        say("It did not arrive. The computer that keeps the archive may be off. Nothing you typed is lost: send it again.");
        alertLine(form, "It did not arrive. The computer that keeps the archive may be off. Send it again.");
      });
      const data = new FormData(form);
      // Which button was pressed counts: “Save and next” or “Save and finish”.
      if (event.submitter && event.submitter.name) data.append(event.submitter.name, event.submitter.value);
      request.send(data);
    });
  }

  function alertLine(form, words) {
    let line = form.querySelector(".error-line");
    if (!line) { line = document.createElement("p"); line.className = "error-line"; line.setAttribute("role", "alert"); form.append(line); }
    line.textContent = words;
  }

  document.addEventListener("submit", (event) => {
    if (event.target.dataset.upload !== undefined) return;
    // A second press while the first is on its way does nothing; the server would act once anyway.
    if (event.target.dataset.sent) { event.preventDefault(); return; }
    event.target.dataset.sent = "1";
    setTimeout(() => { delete event.target.dataset.sent; }, 4000);
  });

  const summary = document.querySelector(".error-summary");
  if (summary) summary.focus();
  for (const name of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
    document.addEventListener(name, () => say("The computer that keeps the archive did not answer. Try again."));
  }
})();
