"use strict";
(() => {
  const form = document.querySelector(".filter");
  if (!form) return;
  const parts = [...document.querySelectorAll("[data-part]")];
  const texts = parts.map((part) => part.textContent.toLowerCase());
  const groups = [...document.querySelectorAll("[data-group]")];
  const input = form.querySelector("input");

  function filter() {
    const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
    let left = 0;
    parts.forEach((part, index) => {
      part.hidden = !words.every((word) => texts[index].includes(word));
      left += part.hidden ? 0 : 1;
    });
    for (const group of groups) group.hidden = !group.querySelector("[data-part]:not([hidden])");
    form.querySelector("output").textContent = words.length ? `${left} of ${parts.length}` : "";
  }

  // A link must not lead to what is hidden.
  function followed() {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target?.closest("[hidden]")) return;
    input.value = "";
    filter();
    target.scrollIntoView();
  }

  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  input.addEventListener("input", filter);
  addEventListener("hashchange", followed);
  // A browser may have kept what was typed before the page was loaded again.
  filter();
})();
