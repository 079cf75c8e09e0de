/**
 * `<mh-beat>`: the conductor's beat pattern of a metre, with a point for the hand. Stopped, the hand waits at the top.
 *
 * Properties: `metre`.
 * Methods: `point(beat, phase)`, once a frame; `rest()`.
 */
import { css, html, LitElement, svg, type PropertyValues, type SVGTemplateResult, type TemplateResult } from 'lit';
import { customElement, property, query } from 'lit/decorators.js';
import {
  beatPattern,
  handAt,
  patternPath,
  type BeatPattern,
  type Direction,
  type Point,
} from '../../core/chart/beat-pattern.js';
import type { Metre } from '../../core/meter/metre.js';

const WIDTH = 112;
const HEIGHT = 80;
/** Beats are numbered up to here; beyond, every other one and so on. */
const MOST_NUMBERS = 8;
const BESIDE: Readonly<Record<Direction, Point>> = {
  down: { x: 0, y: 16 },
  in: { x: -7, y: 14 },
  out: { x: 7, y: 14 },
  up: { x: 8, y: 13 },
};

@customElement('mh-beat')
export class BeatElement extends LitElement {
  static override readonly styles = css`
    :host {
      display: block;
    }

    svg {
      display: block;
      width: 128px;
      height: auto;
      overflow: visible;
    }

    @media (width < 720px) {
      svg {
        width: 92px;
      }
    }

    .way {
      fill: none;
      stroke: var(--soft);
      stroke-width: 1.5;
      opacity: 0.75;
    }

    text {
      fill: var(--ink);
      font: 13px var(--serif);
      text-anchor: middle;
    }

    .hand {
      fill: var(--pencil);
      stroke: var(--pencil);
      stroke-width: 1.8;
    }

    .hand.resting {
      fill: var(--paper);
    }
  `;

  @property({ attribute: false }) metre: Metre = { num: 4, den: 4, groups: [1, 1, 1, 1] };
  @query('.hand') private readonly hand!: SVGElement | null;
  #pattern: BeatPattern = beatPattern(this.metre);

  /** The felt beat, from 0, and the part of it that has passed. */
  point(beat: number, phase: number): void {
    this.#move(handAt(this.#pattern, beat, phase));
    this.hand?.classList.remove('resting');
  }

  /** Ready for the upbeat. */
  rest(): void {
    this.#move(handAt(this.#pattern, this.#pattern.turns.length - 1, 0.5));
    this.hand?.classList.add('resting');
  }

  override willUpdate(changed: PropertyValues): void {
    super.willUpdate(changed);
    if (changed.has('metre')) this.#pattern = beatPattern(this.metre);
  }

  override render(): TemplateResult {
    return html`<svg
      width=${WIDTH + 16}
      height=${HEIGHT + 16}
      viewBox="-8 -4 ${WIDTH + 16} ${HEIGHT + 16}"
      aria-hidden="true"
    >
      <path class="way" d=${patternPath(this.#pattern, WIDTH, HEIGHT)} />
      ${this.#pattern.turns.map((turn, i) => this.#number(turn, i))}
      <circle class="hand resting" r="6" />
    </svg>`;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (changed.has('metre')) this.rest();
  }

  #number(turn: Point, beat: number): SVGTemplateResult | null {
    const every = Math.ceil(this.#pattern.turns.length / MOST_NUMBERS);
    if (beat % every !== 0) return null;
    const beside = BESIDE[this.#pattern.directions[beat] ?? 'down'];
    return svg`<text x=${turn.x * WIDTH + beside.x} y=${turn.y * HEIGHT + beside.y}>${beat + 1}</text>`;
  }

  #move({ x, y }: Point): void {
    this.hand?.setAttribute('transform', `translate(${x * WIDTH} ${y * HEIGHT})`);
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-beat': BeatElement;
  }
}
