"use strict";
(() => {
  const root = document.documentElement;
  const form = document.querySelector(".filters");
  const cards = [...document.querySelectorAll(".finding[data-severity]")];
  const byFinding = new Map(cards.map((card) => [card.id, []]));
  for (const element of document.querySelectorAll("[data-finding]")) {
    byFinding.get(element.dataset.finding).push(element);
  }
  const notes = [...document.querySelectorAll("[data-findings]")].map((note) => ({
    note,
    findings: note.dataset.findings.split(" "),
  }));
  const shown = () => cards.filter((card) => !card.parentElement.hidden);

  // A list item is hidden rather than the card within it, so that no gap is left.
  const outermost = (element) => element.closest("li") ?? element;

  function filter() {
    const severities = new Set(new FormData(form).getAll("severity"));
    const { part, rule } = form.elements;
    for (const card of cards) {
      const { severity, part: ofPart, rule: ofRule } = card.dataset;
      const hide = !severities.has(severity)
        || (part.value !== "" && part.value !== ofPart)
        || (rule.value !== "" && rule.value !== ofRule);
      for (const element of byFinding.get(card.id)) {
        outermost(element).toggleAttribute("hidden", hide);
      }
    }
    const left = new Set(shown().map((card) => card.id));
    for (const { note, findings } of notes) {
      note.classList.toggle("off", !findings.some((finding) => left.has(finding)));
    }
    for (const section of document.querySelectorAll(".system:not(.bare), .tabled")) {
      section.hidden = ![...section.querySelectorAll(".finding")].some((card) => left.has(card.id));
    }
    form.querySelector(".shown").textContent = `${left.size} of ${cards.length} findings shown`;
  }

  function choose(finding) {
    for (const element of document.querySelectorAll(".current")) element.classList.remove("current");
    for (const element of byFinding.get(finding)) element.classList.add("current");
    for (const row of document.querySelectorAll(`.jumps [data-finding="${finding}"]`)) {
      row.scrollIntoView({ block: "nearest" });
    }
    for (const { note, findings } of notes) {
      note.classList.toggle("current", findings.includes(finding));
    }
  }

  function show(target) {
    choose(target.dataset.finding);
    target.focus({ preventScroll: true });
    target.scrollIntoView({ block: "center", inline: "center" });
  }

  function step(by) {
    const names = shown().map((card) => card.id);
    if (names.length === 0) return;
    const now = names.indexOf(document.querySelector(".finding.current")?.id);
    const next = now < 0 ? (by > 0 ? 0 : names.length - 1) : (now + by + names.length) % names.length;
    show(document.getElementById(`${names[next]}-note`));
  }

  function followed(event) {
    const name = event.target.closest("a[href^='#']")?.getAttribute("href").slice(1);
    const target = name && document.getElementById(name);
    if (!target?.dataset.finding) return;
    event.preventDefault();
    history.replaceState(null, "", `#${name}`);
    show(target);
  }

  function pressed(event) {
    if (!form.elements.keys.checked || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.target.closest("select, input:not([type=checkbox])")) return;
    if (event.key === "n") step(1);
    if (event.key === "p") step(-1);
  }

  function paint() {
    const theme = form.elements.theme.value;
    if (theme) root.dataset.theme = theme;
    else delete root.dataset.theme;
  }

  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", () => {
    filter();
    paint();
  });
  document.addEventListener("click", followed);
  document.addEventListener("keydown", pressed);
  // A browser may have kept what was chosen before the page was loaded again.
  filter();
  paint();
})();
