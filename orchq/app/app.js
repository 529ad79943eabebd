"use strict";
(() => {
  const drop = document.querySelector(".drop");
  if (!drop) return;
  const input = drop.querySelector("input");
  const doing = drop.querySelector(".doing");

  async function uploaded(file) {
    if (file.size > Number(drop.dataset.most)) throw new Error("is larger than a score may be");
    const address = `${drop.dataset.to}?name=${encodeURIComponent(file.name)}`;
    const answer = await fetch(address, { method: "POST", body: file });
    if (!answer.ok) throw new Error((await answer.text()).trim());
    return answer.text();
  }

  async function opened(files) {
    let last = "";
    for (const file of files) {
      doing.textContent = `Reading ${file.name}`;
      try {
        last = await uploaded(file);
      } catch (error) {
        doing.textContent = `${file.name}: ${error.message}`;
        return;
      }
    }
    if (last) location.assign(files.length > 1 ? location.href : last);
  }

  input.addEventListener("change", () => opened([...input.files]));
  for (const kind of ["dragenter", "dragover"]) {
    document.addEventListener(kind, (event) => {
      event.preventDefault();
      drop.classList.add("over");
    });
  }
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) drop.classList.remove("over");
  });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    opened([...event.dataTransfer.files]);
  });
})();
