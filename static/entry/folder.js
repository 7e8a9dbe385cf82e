"use strict";
// A folder can be chosen where the browser can do it; without this file one chooses the files in it.
(function () {
  const field = document.getElementById("folder-field");
  const input = document.getElementById("id_folder");
  if (field && input && "webkitdirectory" in input) { input.webkitdirectory = true; field.hidden = false; }
})();
