/**
 * The conductor: what the player does, carried out. It holds the plan, asks the pure transport what follows, and tells
 * recorder, passes, mixer and output. Audio thread; runs while commands are handled, and once a block to see whether a
 * pass has been captured whole.
 */
import { isRepeatPress } from '../meter/presses.js';
import type { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import type { Seam } from '../seam/seam.js';
import type { Step, StepContext, TransportEvent } from '../transport/events.js';
import { close, keepLayeringTurned, lastLineOf, longestAt, withoutPass } from '../transport/going-round.js';
import { startingLine } from '../transport/passes.js';
import type { Plan } from '../transport/plan.js';
import { step } from '../transport/step.js';
import type { Frames } from '../units/index.js';
import { frames } from '../units/index.js';
import { BarsInUse } from './bars-in-use.js';
import type { EngineCommand, PassRules, RefusedBecause, RoundTrip } from './commands.js';
import { SectionChanges } from './section-changes.js';
import type { RecordingPlayers } from './under-way.js';
import { UnderWay } from './under-way.js';

/** More of an endless program is asked for this long before it runs out. */
const PAGE_SECONDS = 10;

/** What closes by itself closes so long before its line: the voice that plays it may begin before that. */
const AHEAD_SECONDS = 0.1;
/** What was played for less than this is a false start (own choice). */
const FALSE_START_SECONDS = 1;

export class Conductor {
  readonly #with: RecordingPlayers;
  readonly #underWay: UnderWay;
  readonly #bars: BarsInUse;
  readonly #sections: SectionChanges;
  #plan: Plan = { type: 'stopped', at: frames(0) };
  /** The last press that was not refused, for the guard; and what the last one began, if it was not. */
  #pressedAt: Frames | null = null;
  #lastPress: StepContext['lastPress'] = null;
  /** The command that is being handled, for what is refused of it. */
  #handling: EngineCommand['type'] = 'press';
  #blockFrames = 128;
  /** Engine frame at which more of the program is asked for; Infinity where it has no end or was asked for. */
  #pageAt = Infinity;

  constructor(players: RecordingPlayers) {
    this.#with = players;
    const earliest = (): Frames => this.#earliest();
    this.#underWay = new UnderWay(players, {
      grid: () => this.#bars.grid,
      plan: () => this.#plan,
      refuse: (why) => {
        this.#refuse(this.#handling, why);
      },
    });
    this.#bars = new BarsInUse(
      { ...players, passes: this.#underWay.passes },
      {
        earliest,
        setPlan: (plan) => {
          this.#setPlan(plan);
        },
        hush: (pass, line) => {
          this.#underWay.hush(pass, line);
        },
      },
    );
    const { mixer, output, report } = players;
    this.#sections = new SectionChanges({ mixer, output, bars: this.#bars, report, earliest });
  }

  get #program(): Program | null {
    return this.#bars.program;
  }

  get #grid(): ProgramGrid | null {
    return this.#bars.grid;
  }

  get plan(): Plan {
    return this.#plan;
  }

  setRules(rules: PassRules): void {
    const turned = rules.keepLayering !== this.#underWay.rules.keepLayering;
    this.#underWay.rules = rules;
    if (turned && this.#grid !== null && this.#program !== null) {
      // What is being captured now was played to this: what is heard, less the delay of the input.
      const heard = frames(this.#with.ring.due - this.#underWay.roundTrip.frames);
      this.#handling = 'set-rules';
      this.#underWay.heard = heard;
      this.#take(keepLayeringTurned(this.#plan, heard, this.#context(this.#grid, this.#program)));
    }
  }

  setRoundTrip(roundTrip: RoundTrip): void {
    this.#underWay.roundTrip = roundTrip;
  }

  /** The page has heard how a voice's body opens, while its pass is still coming in. */
  setOpening(voice: number, opening: Seam): void {
    this.#underWay.setOpening(voice, opening);
  }

  useProgram(program: Program): void {
    this.#bars.use(program, this.#plan);
    this.#turnPage();
    this.#bars.tell(this.#plan);
  }

  /** @returns whether there is such a place. */
  standBy(slot: number, program: Program): boolean {
    const exists = this.#sections.standBy(slot, program);
    if (!exists) this.#refuse('stand-by', 'no-such-place');
    return exists;
  }

  /** Names what would be played at once if what is being recorded were closed now: audio, channel and first frame. */
  nameBeginnings(name: (audio: number, channel: number, frame: number) => void): void {
    this.#underWay.nameBeginnings(name);
  }

  /** Changes to a program that stands by, at the line that the press meant or the first that can still be rendered. */
  go(slot: number, heard: Frames): void {
    const after = this.#sections.go(slot, heard, this.#plan);
    if (typeof after === 'string') return this.#refuse('go', after);
    this.#setPlan(after);
    this.#turnPage();
    this.#bars.tell(this.#plan);
  }

  player(event: TransportEvent): void {
    this.#handling = event.type;
    if (event.type !== 'join') this.#underWay.heard = event.heard;
    // First of all: a press that finds no program is none, and does not stand in the way of the next.
    if (this.#grid === null || this.#program === null) return this.#refuse(event.type, 'no-program');
    if (event.type === 'press' && this.#isBounce(event.heard)) return this.#refuse('press', 'pressed-again-too-soon');
    const before = this.#plan;
    if (event.type === 'press' && this.#bars.standStillAt(event.heard, before) && this.#goOn(event.heard)) return;
    if (event.type === 'press') this.#goOnForTheFirst(event.heard, before);
    if (event.type === 'stop') this.#bars.endInSilence(event.heard, before);
    if (before.type !== 'running') this.#bars.startAnew(before);
    if (event.type === 'take-back' && hasNoPass(before) && this.#underWay.dropComingIn()) return;
    const { plan, effects } = step(before, event, this.#context(this.#grid, this.#program));
    this.#setPlan(plan);
    if (plan.type === 'running' && before.type !== 'running') {
      this.#underWay.startAnew();
      if (before.type === 'free') this.#underWay.letGoOfFree(before.endsAt);
      const how = event.type === 'join' ? 'under-way' : 'from-the-top';
      this.#with.output.start(plan.startsAt, plan.origin, how, this.#grid);
      this.#turnPage();
    }
    if (plan.type === 'stopped' && before.type === 'running') this.#with.output.stop(plan.at);
    if (plan.type === 'running' && before.type === 'running' && plan.origin !== before.origin) {
      this.#with.output.moveOrigin(plan.origin);
      this.#bars.startAnew(plan);
    }
    for (const effect of effects) this.#underWay.carryOut(effect, plan.type === 'running' ? plan : before);
    if (plan.type === 'stopped') this.#bars.takeUpWaiting(plan);
    this.#bars.tell(plan);
  }

  /** A press on which time goes on; refused where it does not stand still. */
  endStandstill(heard: Frames): void {
    if (!this.#goOn(heard)) this.#refuse('end-standstill', 'not-standing-still');
  }

  /** Once a block, after the input was taken in and the block rendered. */
  afterBlock(count: number): void {
    this.#blockFrames = count;
    for (let number = this.#underWay.takeCaptured(); number !== null; number = this.#underWay.takeCaptured()) {
      this.#forget(number);
    }
    this.#closeTheLongest();
    if (this.#with.output.rendered >= this.#pageAt) this.#askForPage();
  }

  /** What the engine does by itself, not upon an event. */
  #take({ plan, effects }: Step): void {
    this.#setPlan(plan);
    for (const effect of effects) this.#underWay.carryOut(effect, plan);
  }

  #forget(number: number): void {
    if (this.#plan.type !== 'running') return;
    const { keepLayering } = this.#underWay.rules;
    this.#take(withoutPass(this.#plan, number, { nextPass: this.#underWay.nextPass, keepLayering }));
  }

  /** A pass of open length is as long as it can be, and goes round from the line that comes now. */
  #closeTheLongest(): void {
    const plan = this.#plan;
    if (plan.type !== 'running' || this.#grid === null) return;
    const soon = frames(this.#earliest() + Math.round(AHEAD_SECONDS * this.#with.rate));
    const longest = longestAt(plan, soon, this.#grid);
    if (longest !== null) this.#take(close(plan, longest, lastLineOf(longest), this.#underWay));
  }

  /** A press that is none. What an earlier press began is no longer undone by holding this one. */
  #isBounce(heard: Frames): boolean {
    const isBounce = isRepeatPress(this.#pressedAt, heard, this.#with.rate, this.#underWay.rules.presses.guard);
    this.#lastPress = isBounce ? null : { heard, nextPass: this.#underWay.nextPass };
    if (!isBounce) this.#pressedAt = heard;
    return isBounce;
  }

  #context(grid: ProgramGrid, program: Program): StepContext {
    const { rules, roundTrip, nextPass } = this.#underWay;
    const { mixer, ring, rate } = this.#with;
    return {
      grid,
      earliest: this.#earliest(),
      oldest: frames(Math.max(0, ring.oldestSafe - roundTrip.frames)),
      keptUpTo: this.#underWay.keptUpTo(program),
      hasLayers: mixer.hasVoices,
      passBars: rules.bars,
      loopBars: rules.loopBars,
      graceBeats: rules.presses.graceBeats,
      countIn: rules.countIn,
      withoutTempo: rules.withoutTempo,
      keepLayering: rules.keepLayering,
      parts: rules.channels.length,
      leadFrames: frames(Math.max(program.leadFrames, mixer.ownLeadFrames)),
      falseStart: frames(FALSE_START_SECONDS * rate),
      nextPass,
      lastPress: this.#lastPress,
    };
  }

  #earliest(): Frames {
    const { output } = this.#with;
    return frames(Math.max(output.rendered + 2 * this.#blockFrames, output.silentFrom));
  }

  /** The first pass over a click makes its own line the first: that line has to come. */
  #goOnForTheFirst(heard: Frames, plan: Plan): void {
    if (plan.type !== 'running' || plan.passes.length > 0 || this.#with.mixer.hasVoices) return;
    this.#bars.goOnBefore(plan, (grid) => startingLine(plan, heard, grid, this.#underWay.rules.presses.graceBeats));
  }

  #goOn(heard: Frames): boolean {
    const went = this.#bars.endStandstill(heard, this.#plan);
    if (went) this.#turnPage();
    return went;
  }

  #turnPage(): void {
    const plan = this.#plan;
    this.#pageAt = Infinity;
    if (plan.type !== 'running') return;
    this.#pageAt = plan.origin + this.#bars.pageFrames - PAGE_SECONDS * this.#with.rate;
  }

  #askForPage(): void {
    this.#pageAt = Infinity;
    if (this.#program === null) return;
    this.#with.report({ type: 'page-wanted', at: this.#with.output.rendered, revision: this.#program.revision });
  }

  #setPlan(plan: Plan): void {
    if (plan === this.#plan) return;
    this.#plan = plan;
    this.#with.report({ type: 'plan-changed', at: this.#with.output.rendered, plan });
  }

  #refuse(command: EngineCommand['type'], why: RefusedBecause): void {
    this.#with.report({ type: 'refused', at: this.#with.output.rendered, command, why });
  }
}

const hasNoPass = (plan: Plan): boolean =>
  plan.type === 'stopped' || (plan.type === 'running' && plan.passes.length === 0);
