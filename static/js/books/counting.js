import { countWords } from "#lib/words.js";

/** Show under each part of the manuscript how many words it holds, while typing. */
for (const part of document.querySelectorAll("textarea[data-counted]")) {
  if (part instanceof HTMLTextAreaElement) {
    const told = document.createElement("p");
    told.className = "field-hint number";
    part.after(told);
    const tell = () => {
      const count = countWords(part.value);
      const ask = count > 80 ? ": is there room for the picture?" : "";
      told.textContent = `${count} word${count === 1 ? "" : "s"}${ask}`;
    };
    part.addEventListener("input", tell);
    tell();
  }
}
