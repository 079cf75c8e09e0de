/**
 * Presses whose moment matters: a pointer counts when it goes down, not when it comes up. A click that no pointer began,
 * from Enter or an assistive program, counts as it comes.
 */
export class Moment {
  readonly #act: (timeStamp: number) => void;
  /** A pointer went down here; the click it may end in has not come. */
  #pressed = false;

  constructor(act: (timeStamp: number) => void) {
    this.#act = act;
  }

  readonly down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    this.#pressed = true;
    this.#act(event.timeStamp);
  };

  /** A pointer that is let go elsewhere ends in no click; so a key's click is told by its own count, 0 (UI Events, `detail`). */
  readonly click = (event: UIEvent): void => {
    if (event.detail !== 0 && this.#pressed) this.#pressed = false;
    else this.#act(event.timeStamp);
  };

  /** The pointer went away without a click. */
  readonly cancel = (): void => {
    this.#pressed = false;
  };
}
