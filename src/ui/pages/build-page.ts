/**
 * `<mh-build-page>`: the Build page: a chart on a music stand. It is joined to the rehearsal here and nowhere below.
 *
 * Properties: `rehearsal`, set once before it is connected.
 */
import { html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { tempoWord } from '../../core/chart/tempo-words.js';
import { sectionOf } from '../../core/song/lookups.js';
import { holdsTheGrid } from '../../core/song/queries.js';
import type { Section } from '../../core/song/song.js';
import { milliseconds } from '../../core/units/index.js';
import type { RehearsalIntents } from '../../rehearsal/intents.js';
import type { Snapshot } from '../../rehearsal/snapshot.js';
import type { Ask, AskEvent } from '../asks.js';
import { FrameController } from '../controllers/frame-controller.js';
import { KeysController } from '../controllers/keys-controller.js';
import { RehearsalController } from '../controllers/rehearsal-controller.js';
import { ThemeController } from '../controllers/theme-controller.js';
import type { ChartElement } from '../elements/chart.js';
import type { NowLineElement } from '../elements/now-line.js';
import type { LeaveMarkEvent, RetakeEvent } from '../elements/trip-mark.js';
import { LevelReading, type InputLevel } from '../input-level.js';
import { CAUTION, documentTitle, EMPTY, EMPTY_FREE, sectionLabel } from '../words.js';
import { buildPageStyles } from './build-page-styles.js';
import { carryOut } from './carry-out.js';
import { barsToDraw, isClosed, isFilling, marksIn, stavesOf } from './staves.js';
import '../elements/chart.js';
import '../elements/free-tempo.js';
import '../elements/ideas.js';
import '../elements/input.js';
import '../elements/masthead.js';
import '../elements/now-line.js';
import '../elements/tempo.js';
import '../elements/terms.js';

/** Masthead, head of the section and now line, at their usual sizes. */
const AROUND_THE_SCORE = 350;
const roomIn = (height: number): number => Math.max(0, height - AROUND_THE_SCORE);

@customElement('mh-build-page')
export class BuildPageElement extends LitElement {
  static override readonly styles = buildPageStyles;

  /** Height that the score may fill: the window without what stands above and below it. */
  @state() private room = roomIn(window.innerHeight);
  @state() private level: InputLevel | null = null;
  /** The channel that was asked for last: nothing else asks for one. */
  @state() private channel = 0;
  @query('mh-chart') private readonly chart!: ChartElement | null;
  @query('mh-now-line') private readonly nowLine!: NowLineElement | null;
  @property({ attribute: false }) rehearsal!: RehearsalIntents;
  readonly #look = new ThemeController(this);
  readonly #reading = new LevelReading();
  readonly #calm = matchMedia('(prefers-reduced-motion: reduce)');
  #published!: RehearsalController;

  constructor() {
    super();
    new KeysController(this, (ask) => this.#carryOut(ask));
    new FrameController(
      this,
      () => this.#isMoving(),
      (now) => this.#frame(now),
    );
  }

  override connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener('resize', this.#resized);
    if (!this.hasUpdated) this.#published = new RehearsalController(this, this.rehearsal);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener('resize', this.#resized);
  }

  override render(): TemplateResult {
    const { snapshot } = this.#published;
    const { song } = snapshot;
    const section = sectionOf(song, snapshot.sectionInHand);
    return html`
      <div
        class="sheet"
        @mh-ask=${(event: AskEvent) => this.#carryOut(event.ask)}
        @mh-retake=${({ layer }: RetakeEvent) => this.rehearsal.anotherTake(section.id, layer)}
        @mh-leave-mark=${({ layer, mark }: LeaveMarkEvent) => this.rehearsal.leaveMark(section.id, layer, mark)}
      >
        <header>
          <mh-masthead .song=${song.title} .keeping=${snapshot.keeping} .theme=${this.#look.theme}></mh-masthead>
        </header>
        <main>
          ${this.#head(snapshot, section)} ${this.#score(snapshot, section)}
          <mh-ideas .ideas=${song.ideas} .rate=${song.sampleRate}></mh-ideas>
          ${this.#advice(snapshot, section)}
        </main>
        <footer>
          <mh-now-line
            .transport=${snapshot.transport}
            .notice=${snapshot.notice}
            .metre=${song.metre}
            .clickOn=${song.click.on}
            .canTakeBack=${snapshot.canTakeBack}
            .canPutBack=${snapshot.canPutBack}
          ></mh-now-line>
        </footer>
      </div>
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    document.title = documentTitle(this.#published.snapshot.song.title);
  }

  #head(snapshot: Snapshot, section: Section): TemplateResult {
    const { song, sound, trip, devices, choice, change, taps, isFree, readings, soundingBpm, transport } = snapshot;
    const held = holdsTheGrid(song);
    return html`
      <div class="head">
        <mh-tempo
          .bpm=${song.tempo.bpm}
          .mark=${song.tempo.mark}
          .sounding=${soundingBpm}
          .word=${tempoWord(song.tempo, song.metre)}
          .held=${held}
          .taps=${taps}
          .running=${transport.state !== 'stopped'}
        ></mh-tempo>
        <mh-free-tempo .on=${isFree} .held=${held} .readings=${readings}></mh-free-tempo>
        <mh-input
          .sound=${sound}
          .channel=${this.channel}
          .level=${this.level}
          .trip=${trip}
          .devices=${devices}
          .choice=${choice}
          .change=${change}
        ></mh-input>
      </div>
      <div class="head">
        <h2 aria-label=${sectionLabel(section.mark, section.name)}>
          <span class="rehearsal-mark">${section.mark}</span>${section.name}
        </h2>
        <mh-terms .bars=${section.bars} .countIn=${song.countIn} .held=${held}></mh-terms>
      </div>
    `;
  }

  #score(snapshot: Snapshot, section: Section): TemplateResult {
    const { song } = snapshot;
    return html`<mh-chart
      .bars=${barsToDraw(snapshot, section)}
      .room=${this.room}
      .closed=${isClosed(snapshot, section)}
      .writing=${isFilling(snapshot)}
      .staves=${stavesOf(snapshot, section)}
      .marks=${marksIn(snapshot, section)}
      .metre=${song.metre}
      .mark=${song.tempo.mark}
      .held=${holdsTheGrid(song)}
    ></mh-chart>`;
  }

  #advice({ sound, transport, isFree }: Snapshot, section: Section): TemplateResult | typeof nothing {
    const empty = section.layers.length === 0 && transport.state === 'stopped';
    const first = sound.state === 'asleep' || sound.state === 'opening';
    if (!empty && !first) return nothing;
    return html`<div class="advice">
      ${empty ? (isFree ? EMPTY_FREE : EMPTY).map((sentence) => html`<p class="start">${sentence}</p>`) : nothing}
      ${first ? html`<p class="caution">${CAUTION}</p>` : nothing}
    </div>`;
  }

  readonly #resized = (): void => {
    this.room = roomIn(window.innerHeight);
  };

  /** Frames carry the time as well: that the tapping has rested, that a write which failed is to be tried again. */
  #isMoving(): boolean {
    const { sound, transport, taps, keeping } = this.#published.snapshot;
    const isWaiting = taps !== null || keeping.state === 'not-kept';
    return sound.state === 'open' || transport.state !== 'stopped' || isWaiting;
  }

  #frame(now: number): void {
    const position = this.rehearsal.position(milliseconds(now));
    this.level = position.inputPeak === null ? null : this.#reading.read(position.inputPeak, now);
    // The click alone goes on for ever: there is no bar of the section to point at.
    const { song, sectionInHand, transport } = this.#published.snapshot;
    const nowhere =
      transport.state === 'playing' && transport.bars === null && sectionOf(song, sectionInHand).bars === null;
    this.chart?.point(nowhere ? { ...position, bar: null } : position, this.#calm.matches);
    this.nowLine?.point(position, this.#calm.matches);
  }

  #carryOut(ask: Ask): void {
    if (ask.type === 'choose-theme') {
      this.#look.choose(ask.theme);
      return;
    }
    if (ask.type === 'use-channel') this.channel = ask.channel;
    carryOut(ask, this.rehearsal);
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-build-page': BuildPageElement;
  }
}
