// A person at a desk: what they do with mouse and keys is done in the page and counted, and the
// counts make a time by the keystroke-level model. Its figures are those of Card, Moran and Newell,
// "The keystroke-level model for user performance time with interactive systems", Communications of
// the ACM 23 (1980), 396-410. It is of somebody who knows the page; reading at leisure is not in it.
const seconds = {
  K: 0.28, // a key, of somebody who types 40 words a minute
  P: 1.1, // to point at something with the mouse
  B: 0.1, // to press the button of the mouse, or to let it go
  H: 0.4, // a hand from the mouse to the keys, or back
  M: 1.35, // to make up one's mind
};

export class Hand {
  count = { K: 0, P: 0, B: 0, H: 0, M: 0 };
  #page;
  constructor(page) {
    this.#page = page;
  }

  #did(ops) {
    for (const [op, n] of Object.entries(ops)) this.count[op] += n;
  }

  /** thinks is before whatever has to be decided. */
  thinks(times = 1) {
    this.#did({ M: times });
  }

  async click(what) {
    await what.click();
    this.#did({ M: 1, P: 1, B: 2 });
  }

  /** types into a box, over what is there: a click into it, the keys, and the hand back. */
  async types(box, text) {
    const stood = await box.inputValue();
    await box.click({ clickCount: stood === "" ? 1 : 3 });
    this.#did({ M: 1, P: 1, B: stood === "" ? 2 : 6, H: 2, K: text.length });
    await box.pressSequentially(text);
  }

  /** picks from a list that opens: a click to open it, one on the entry. */
  async picks(list, label) {
    await list.selectOption({ label });
    this.#did({ M: 2, P: 2, B: 4 });
  }

  /** chooses a file: a click on the button, and two on the file in the window of the system. */
  async chooses(button, path) {
    const opened = this.#page.waitForEvent("filechooser");
    await this.click(button);
    await (await opened).setFiles(path);
    this.#did({ M: 1, P: 1, B: 4 });
  }

  get seconds() {
    return Object.entries(this.count).reduce((sum, [op, n]) => sum + n * seconds[op], 0);
  }
}
