/** One file on its way: its name, a bar, and what happens to it in words. */
export class FileLine {
  /** @param {string} name @param {(says: string) => void} call says it aloud */
  constructor(name, call) {
    this.name = name;
    this.call = call;
    this.element = document.createElement("li");
    this.element.className = "send-line";
    const title = document.createElement("strong");
    title.dir = "auto";
    title.textContent = name;
    this.bar = document.createElement("progress");
    this.bar.className = "send-bar";
    this.bar.max = 1;
    this.bar.value = 0;
    this.bar.setAttribute("aria-label", `How much of ${name} is here`);
    this.words = document.createElement("p");
    this.acts = document.createElement("p");
    this.acts.className = "row";
    this.element.append(title, this.bar, this.words, this.acts);
  }

  /** @param {number} share 0 to 1 */
  fill(share) {
    this.bar.value = share;
  }

  /** @param {string} says @param {{ aloud?: boolean }} [how] */
  say(says, { aloud = true } = {}) {
    if (this.words.textContent === says) return;
    this.words.className = "";
    this.words.textContent = says;
    if (aloud) this.call(`${this.name}: ${says}`);
  }

  /** @param {string} says */
  refuse(says) {
    this.say(says);
    this.words.className = "refused";
    this.bar.hidden = true;
  }

  /** Offer something to do. @param {string} word @param {() => void} act */
  offer(word, act) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button button-quiet";
    button.textContent = word;
    button.setAttribute("aria-label", `${word}: ${this.name}`);
    button.addEventListener("click", act);
    this.acts.append(button);
    return button;
  }

  /** Offer somewhere to go. @param {string} word @param {string} address */
  lead(word, address) {
    const link = document.createElement("a");
    link.href = address;
    link.textContent = word;
    this.acts.append(link);
  }

  /** Take back what was offered. */
  clear() {
    this.acts.replaceChildren();
  }
}
