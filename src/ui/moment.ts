/**
 * Presses whose moment matters: a pointer counts when it goes down, not when it comes up. A click that no pointer began,
 * from Enter or an assistive program, counts as it comes.
 */
export class Moment {
  readonly #act: (timeStamp: number) => void;
  #pressed = false;

  constructor(act: (timeStamp: number) => void) {
    this.#act = act;
  }

  readonly down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    this.#pressed = true;
    this.#act(event.timeStamp);
  };

  readonly click = (event: Event): void => {
    if (!this.#pressed) this.#act(event.timeStamp);
    this.#pressed = false;
  };

  /** The pointer went away without a click. */
  readonly cancel = (): void => {
    this.#pressed = false;
  };
}
