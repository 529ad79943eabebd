"use strict";
(() => {
  const panel = document.querySelector(".app-panel");
  const status = panel.querySelector(".app-status");
  const renewed = panel.querySelector(".app-renewed");
  const choices = panel.querySelector(".app-choices");
  const withdrawal = panel.querySelector(".app-withdraw-form");
  const pattern = panel.querySelector(".app-accept-form");
  const { address, version } = panel.dataset;
  const WORDS = { waiting: "Waiting for another score", checking: "Being read and checked", engraving: "Being engraved" };
  let busy = !["ready", "failed"].includes(panel.dataset.state);

  // What someone is typing is not taken away.
  const typing = () => [...document.querySelectorAll(".app-accept input[name=reason]")].some((input) => input.value);

  async function look() {
    try {
      const answer = await fetch(`${address}state`);
      if (answer.status === 404) return;
      const now = await answer.json();
      busy = now.state in WORDS;
      if (String(now.version) !== version) {
        if (!typing()) {
          location.reload();
          return;
        }
        renewed.hidden = false;
      }
      status.textContent = WORDS[now.state] ?? "";
    } catch {
      status.textContent = "orchq has ended. What is shown stays until this page is closed.";
      return;
    }
    setTimeout(look, busy ? 80 : 700);
  }

  async function sent(form) {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
    status.textContent = answer.ok ? WORDS.checking : (await answer.text()).trim();
    return answer.ok;
  }

  for (const card of document.querySelectorAll(".finding[data-severity]")) {
    const added = pattern.content.cloneNode(true);
    const number = card.id.split("-").pop();
    added.querySelector("[name=number]").value = number;
    added.querySelector("summary").append(Object.assign(document.createElement("span"), { className: "unseen", textContent: ` finding ${number}` }));
    card.append(added);
    card.querySelectorAll(".proposal").forEach((proposal, index) => {
      const box = Object.assign(document.createElement("input"), { type: "checkbox", name: "chosen", value: `${number}.${index + 1}` });
      box.setAttribute("form", "app-apply");
      const label = Object.assign(document.createElement("label"), { className: "app-choose" });
      label.append(box, ` carry out`, Object.assign(document.createElement("span"), { className: "unseen", textContent: ` proposal ${index + 1} of finding ${number}` }));
      proposal.append(" ", label);
    });
  }

  for (const card of document.querySelectorAll(".accepted .finding")) {
    const added = withdrawal.content.cloneNode(true);
    added.querySelector("[name=number]").value = card.id.split("-a").pop();
    card.append(added);
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target.closest(".app-accept form, form.app-withdraw");
    if (!form) return;
    event.preventDefault();
    if (await sent(form)) form.reset();
    else panel.scrollIntoView();
  });
  choices?.addEventListener("submit", (event) => {
    event.preventDefault();
    sent(choices);
  });
  choices?.addEventListener("change", () => {
    if (choices.checkValidity()) sent(choices);
  });
  // A copy is renewed by dropping the file again; another file is another score.
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", async (event) => {
    event.preventDefault();
    const [file] = event.dataTransfer.files;
    if (!file) return;
    const again = file.name === panel.dataset.name && panel.dataset.followed === "no";
    const to = again ? `${address}file` : `${panel.dataset.scores}?name=${encodeURIComponent(file.name)}`;
    const answer = await fetch(to, { method: "POST", body: file });
    const text = (await answer.text()).trim();
    if (!answer.ok) status.textContent = text;
    else if (!again) location.assign(text);
  });
  renewed.addEventListener("click", () => location.reload());
  look();
})();
