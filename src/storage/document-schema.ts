/**
 * The form of stored documents, field by field and with no field more. Quantities are judged by their constructors
 * (core/units); limits and identities by the core (core/song/invariants, core/history/open-history).
 */
import * as v from 'valibot';
import type { JournalledEdit } from '../core/history/history.js';
import { PULSE_VALUES } from '../core/meter/metres.js';
import type { Edit } from '../core/song/edits.js';
import {
  asId,
  type IdeaId,
  type LayerId,
  type RecordingId,
  type SectionId,
  type SongId,
  type TakeId,
} from '../core/song/ids.js';
import { type Layer, SONG_SCHEMA, type Song } from '../core/song/song.js';
import { bars, bpm, decibels, frames, QuantityError, sampleRate } from '../core/units/index.js';
import { DISTURBANCE_KINDS } from '../core/watch/history.js';

/** A number that a constructor of core/units accepts. */
export function quantity<Unit extends number>(make: (value: number) => Unit): v.GenericSchema<unknown, Unit> {
  return v.pipe(
    v.number(),
    v.rawTransform(({ dataset, addIssue, NEVER }) => {
      try {
        return make(dataset.value);
      } catch (error) {
        if (!(error instanceof QuantityError)) throw error;
        addIssue({ message: error.message });
        return NEVER;
      }
    }),
  );
}

/** A text that is not empty, as the identity it is known to be. */
export function identity<Id extends SongId | SectionId | LayerId | TakeId | RecordingId | IdeaId>(): v.GenericSchema<
  unknown,
  Id
> {
  return v.pipe(
    v.string(),
    v.nonEmpty(),
    v.transform((text) => asId<Id>(text)),
  );
}

const wholeNumber = v.pipe(v.number(), v.safeInteger());
const pulseValue = v.picklist(PULSE_VALUES);
const metre = v.strictObject({ num: wholeNumber, den: pulseValue, groups: v.array(wholeNumber) });
const noteValue = v.strictObject({ num: wholeNumber, den: pulseValue });

const alignment = v.strictObject({
  fromBar: quantity(bars),
  roundTrip: quantity(frames),
  how: v.picklist(['cable', 'measured', 'estimated', 'stated']),
  sure: v.boolean(),
  within: v.exactOptional(quantity(frames)),
});

const mark = v.strictObject({
  bar: quantity(bars),
  lastBar: quantity(bars),
  duringPass: v.boolean(),
  kind: v.picklist(DISTURBANCE_KINDS),
  shift: v.nullable(quantity(frames)),
  how: v.picklist(['exact', 'read', 'unknown']),
  within: quantity(frames),
});

const seamKind = v.picklist(['crossfade', 'early-attack', 'pickup', 'let-ring']);

const seam = v.strictObject({
  kind: seamKind,
  leadFrames: quantity(frames),
  fadeInFrames: quantity(frames),
  fadeInShape: v.number(),
  tailFrames: quantity(frames),
  fadeOutFrames: quantity(frames),
  fadeOutShape: v.number(),
  mayOverlap: v.boolean(),
});

const take = v.strictObject({
  id: identity<TakeId>(),
  recording: identity<RecordingId>(),
  channel: wholeNumber,
  bodyStart: quantity(frames),
  bodyFrames: quantity(frames),
  lead: quantity(frames),
  tail: quantity(frames),
  startBar: quantity(bars),
  bars: quantity(bars),
  alignment: v.array(alignment),
  marks: v.exactOptional(v.array(mark)),
  seam: v.strictObject({ chosen: v.nullable(seamKind), pickup: v.boolean(), decided: v.nullable(seam) }),
});

const layer: v.GenericSchema<unknown, Layer> = v.strictObject({
  id: identity<LayerId>(),
  name: v.string(),
  gain: quantity(decibels),
  leftOut: v.boolean(),
  takes: v.array(take),
  takeInUse: identity<TakeId>(),
  blendOf: v.array(v.lazy(() => layer)),
});

const tempo = v.strictObject({ bpm: quantity(bpm), mark: noteValue });

const hold = v.strictObject({
  bar: quantity(bars),
  beat: wholeNumber,
  longer: v.variant('type', [
    v.strictObject({ type: v.literal('beats'), beats: v.number() }),
    v.strictObject({ type: v.literal('frames'), frames: quantity(frames) }),
    v.strictObject({ type: v.literal('until-pressed') }),
  ]),
});

const measured = {
  fromBar: quantity(bars),
  metre: v.nullable(metre),
  tempo: v.nullable(tempo),
  holds: v.array(hold),
};

const stretches = v.array(
  v.variant('type', [
    v.strictObject({ type: v.literal('steady'), ...measured }),
    v.strictObject({ type: v.literal('gradual'), ...measured, toBpm: quantity(bpm) }),
    v.strictObject({ type: v.literal('free'), fromBar: quantity(bars), frames: v.nullable(quantity(frames)) }),
  ]),
);

const section = v.strictObject({
  id: identity<SectionId>(),
  mark: v.string(),
  name: v.string(),
  bars: v.nullable(quantity(bars)),
  // Documents that were written without it have none.
  stretches: v.optional(stretches, []),
  layers: v.array(layer),
  recede: quantity(decibels),
});

const idea = v.strictObject({
  id: identity<IdeaId>(),
  recording: identity<RecordingId>(),
  channel: wholeNumber,
  start: quantity(frames),
  frames: quantity(frames),
  at: v.string(),
});

export const songSchema = v.strictObject({
  schema: v.literal(SONG_SCHEMA),
  id: identity<SongId>(),
  title: v.string(),
  sampleRate: quantity(sampleRate),
  tempo,
  metre,
  countIn: v.nullable(quantity(bars)),
  click: v.strictObject({ on: v.boolean(), gain: quantity(decibels) }),
  sections: v.array(section),
  ideas: v.array(idea),
}) satisfies v.GenericSchema<unknown, Song>;

const inSection = { section: identity<SectionId>() };
const inLayer = { ...inSection, layer: identity<LayerId>() };
const inTake = { ...inLayer, take: identity<TakeId>() };

export const editSchema = v.variant('type', [
  v.strictObject({ type: v.literal('retitle'), title: v.string() }),
  v.strictObject({ type: v.literal('set-tempo'), bpm: quantity(bpm) }),
  v.strictObject({ type: v.literal('set-metre'), metre, mark: noteValue }),
  v.strictObject({ type: v.literal('set-count-in'), bars: v.nullable(quantity(bars)) }),
  v.strictObject({ type: v.literal('set-click'), on: v.boolean() }),
  v.strictObject({ type: v.literal('set-section-bars'), ...inSection, bars: v.nullable(quantity(bars)) }),
  v.strictObject({ type: v.literal('set-stretches'), ...inSection, stretches, settles: v.boolean() }),
  v.strictObject({
    type: v.literal('add-layers'),
    ...inSection,
    layers: v.array(layer),
    sectionBars: quantity(bars),
  }),
  v.strictObject({ type: v.literal('rename-layer'), ...inLayer, name: v.string() }),
  v.strictObject({ type: v.literal('leave-out'), ...inLayer, out: v.boolean() }),
  v.strictObject({ type: v.literal('set-layer-gain'), ...inLayer, gain: quantity(decibels) }),
  v.strictObject({ type: v.literal('set-recede'), ...inSection, recede: quantity(decibels) }),
  v.strictObject({ type: v.literal('add-take'), ...inLayer, take }),
  v.strictObject({ type: v.literal('use-take'), ...inTake }),
  v.strictObject({ type: v.literal('set-seam'), ...inTake, seam }),
  v.strictObject({ type: v.literal('choose-seam'), ...inTake, chosen: v.nullable(seamKind), pickup: v.boolean() }),
  v.strictObject({
    type: v.literal('realign'),
    ...inTake,
    alignment: v.array(alignment),
    marks: v.exactOptional(v.array(mark)),
    by: v.exactOptional(v.literal('watch')),
  }),
  v.strictObject({ type: v.literal('blend'), ...inSection, layers: v.array(identity<LayerId>()), into: layer }),
  v.strictObject({ type: v.literal('take-apart'), ...inLayer }),
  v.strictObject({
    type: v.literal('read-as'),
    first: v.boolean(),
    ...inSection,
    bpm: quantity(bpm),
    bars: quantity(bars),
    bodyFrames: quantity(frames),
  }),
  v.strictObject({ type: v.literal('add-idea'), idea }),
  v.strictObject({ type: v.literal('drop-idea'), idea: identity<IdeaId>() }),
]) satisfies v.GenericSchema<unknown, Edit>;

export const journalledEditSchema = v.strictObject({
  seq: wholeNumber,
  edit: editSchema,
  at: v.string(),
}) satisfies v.GenericSchema<unknown, JournalledEdit>;
