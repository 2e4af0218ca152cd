"use strict";
// The guided start: answers go to the board on this machine, which writes the file or says what is due.
(() => {
  document.documentElement.classList.add("live");
  const form = document.getElementById("start-form"), told = document.getElementById("board-told");
  const wrong = (input, text) => {
    document.getElementById(`${input.id}-wrong`).textContent = text;
    document.getElementById(`${input.id}-wrong`).className = text ? "wrong" : "none";
    if (text) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  };
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const inputs = [...form.querySelectorAll("[data-key]")];
    const answers = Object.fromEntries(inputs.map((input) => [input.dataset.key, input.value]));
    let made;
    try {
      const answer = await fetch("begin", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ answers }) });
      if (answer.ok) { location.reload(); return; }
      made = await answer.json();
    } catch {
      made = { told: "The board does not answer. What was typed stays here.", wrong: {} };
    }
    told.textContent = made.told;
    for (const input of inputs) wrong(input, (made.wrong || {})[input.dataset.key] || "");
    const first = inputs.find((input) => input.getAttribute("aria-invalid"));
    if (first) first.focus();
  });
})();
