/** Songs and edits made at random: the harbour ferry songs of an invented player, and all that could be done to them. */
import fc from 'fast-check';
import { barFrames } from '../../../src/core/meter/grid.js';
import type { PulseValue } from '../../../src/core/meter/metre.js';
import type { Hold } from '../../../src/core/meter/stretch.js';
import type { Edit } from '../../../src/core/song/edits.js';
import type { Seam, SeamKind } from '../../../src/core/seam/seam.js';
import {
  asId,
  type IdeaId,
  type LayerId,
  type RecordingId,
  type SectionId,
  type SongId,
  type TakeId,
} from '../../../src/core/song/ids.js';
import { newSong } from '../../../src/core/song/new-song.js';
import { everyLayer } from '../../../src/core/song/queries.js';
import type { SectionStretch } from '../../../src/core/song/section-stretch.js';
import { stretchesRefusal } from '../../../src/core/song/section-time.js';
import type { Alignment, Idea, Layer, Section, Song, Take } from '../../../src/core/song/song.js';
import { bars, bpm, decibels, frames, sampleRate } from '../../../src/core/units/index.js';

/** An edit in the making: it is told which song it meets, and a number that no other edit of the run was given. */
export type EditMaker = (song: Song, fresh: number) => Edit;

export const ferrySong = (): Song =>
  newSong({
    id: asId<SongId>('song-ferry'),
    sectionId: asId<SectionId>('section-a'),
    title: 'Last ferry',
    sampleRate: sampleRate(48000),
  });

const alignments: fc.Arbitrary<readonly Alignment[]> = fc
  .tuple(
    fc.uniqueArray(fc.integer({ min: 1, max: 63 }), { maxLength: 2 }),
    fc.array(
      fc.record({
        roundTrip: fc.integer({ min: -100, max: 50_000 }).map(frames),
        how: fc.constantFrom('cable', 'measured', 'estimated', 'stated'),
        sure: fc.boolean(),
      }),
      { minLength: 3, maxLength: 3 },
    ),
  )
  .map(([later, values]) => {
    const from = [0, ...later.toSorted((a, b) => a - b)];
    return from.map((bar, index) => ({ fromBar: bars(bar), ...values[index]! }));
  });

const seamKinds = fc.constantFrom<SeamKind>('crossfade', 'early-attack', 'pickup', 'let-ring');

/** A seam that every take can have: it needs nothing round the body and takes at most one frame from it. */
const smallSeams: fc.Arbitrary<Seam> = fc.record({
  kind: seamKinds,
  leadFrames: fc.constant(frames(0)),
  fadeInFrames: fc.nat({ max: 1 }).map(frames),
  fadeInShape: fc.double({ min: 0, max: 1, noNaN: true }),
  tailFrames: fc.constant(frames(0)),
  fadeOutFrames: fc.nat({ max: 1 }).map(frames),
  fadeOutShape: fc.double({ min: 0, max: 1, noNaN: true }),
  mayOverlap: fc.boolean(),
});

/** A seam that reaches as far as a take allows, both ways, or keeps away from the end. */
const seamOf = ({ bodyFrames, lead, tail }: Pick<Take, 'bodyFrames' | 'lead' | 'tail'>): fc.Arbitrary<Seam> =>
  fc
    .tuple(smallSeams, fc.nat({ max: lead }), fc.integer({ min: 1 - Math.min(bodyFrames, 5000), max: tail }))
    .chain(([small, leadFrames, tailFrames]) => {
      const fade = fc.nat({ max: Math.min(5000, leadFrames + bodyFrames + tailFrames) }).map(frames);
      return fc.tuple(fade, fade).map(([fadeInFrames, fadeOutFrames]) => ({
        ...small,
        leadFrames: frames(leadFrames),
        tailFrames: frames(tailFrames),
        fadeInFrames,
        fadeOutFrames,
      }));
    });

/** A take whose identity is still to be given. */
const takeContents: fc.Arbitrary<Omit<Take, 'id'>> = fc
  .record({
    recording: fc.integer({ min: 1, max: 9 }).map((number) => asId<RecordingId>(`recording-${number}`)),
    channel: fc.nat({ max: 7 }),
    bodyStart: fc.integer({ min: -1000, max: 1e9 }).map(frames),
    bodyFrames: fc.integer({ min: 1, max: 1e9 }).map(frames),
    lead: fc.nat({ max: 50_000 }).map(frames),
    tail: fc.nat({ max: 500_000 }).map(frames),
    startBar: fc.nat({ max: 63 }).map(bars),
    bars: fc.integer({ min: 1, max: 64 }).map(bars),
    alignment: alignments,
  })
  .chain((take) =>
    fc
      .record({ chosen: fc.option(seamKinds), pickup: fc.boolean(), decided: fc.option(seamOf(take)) })
      .map((seam) => ({ ...take, seam })),
  );

const names = fc.string({ unit: 'grapheme', minLength: 1, maxLength: 60 }).map((text) => `x${text}`.trim());
const gains = fc.double({ min: -60, max: 12, noNaN: true }).map(decibels);

/** A layer that can be; its identities begin with what it is given, so that two of them never share any. */
export const layerNamed: fc.Arbitrary<(prefix: string) => Layer> = fc
  .record({
    name: names,
    gain: gains,
    leftOut: fc.boolean(),
    takes: fc.array(takeContents, { minLength: 1, maxLength: 3 }),
    used: fc.nat(),
  })
  .map(({ takes, used, ...rest }) => (prefix: string) => {
    const identified = takes.map((take, index) => ({ id: asId<TakeId>(`${prefix}-take-${index}`), ...take }));
    const takeInUse = identified[used % identified.length]!.id;
    return { id: asId<LayerId>(prefix), ...rest, takes: identified, takeInUse, blendOf: [] };
  });

/** A layer that was played, or one that others were blended into. */
const layersOfSongs: fc.Arbitrary<(prefix: string) => Layer> = fc
  .tuple(
    layerNamed,
    fc.oneof({ weight: 3, arbitrary: fc.constant([]) }, fc.array(layerNamed, { minLength: 2, maxLength: 3 })),
  )
  .map(([make, parts]) => (prefix: string) => ({
    ...make(prefix),
    blendOf: parts.map((part, index) => part(`${prefix}-part-${index}`)),
  }));

const ideas: fc.Arbitrary<(id: string) => Idea> = fc
  .record({
    recording: fc.integer({ min: 1, max: 9 }).map((number) => asId<RecordingId>(`recording-${number}`)),
    channel: fc.nat({ max: 7 }),
    start: fc.nat().map(frames),
    frames: fc.integer({ min: 1, max: 1e9 }).map(frames),
    at: fc.constant('2031-05-04T19:30:00.000Z'),
  })
  .map((idea) => (id: string) => ({ id: asId<IdeaId>(id), ...idea }));

const recedes = fc.double({ min: 0, max: 24, noNaN: true }).map(decibels);

const metres = fc
  .tuple(
    fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 1, maxLength: 8 }),
    fc.constantFrom<PulseValue>(1, 2, 4, 8, 16, 32),
  )
  .map(([groups, den]) => ({ num: groups.reduce((sum, pulses) => sum + pulses, 0), den, groups }));

const marks = fc
  .record({ num: fc.constantFrom(1, 3), den: fc.constantFrom<PulseValue>(1, 2, 4, 8, 16, 32) })
  .filter(({ num, den }) => num === 1 || den > 1);

const holds: fc.Arbitrary<readonly Hold[]> = fc.array(
  fc.record({
    bar: fc.nat({ max: 3 }).map(bars),
    beat: fc.nat({ max: 3 }),
    longer: fc.oneof(
      fc.record({ type: fc.constant('beats' as const), beats: fc.double({ min: 0.25, max: 64, noNaN: true }) }),
      fc.record({ type: fc.constant('frames' as const), frames: fc.nat({ max: 1_000_000 }).map(frames) }),
      fc.record({ type: fc.constant('until-pressed' as const) }),
    ),
  }),
  { maxLength: 2 },
);

const measured = {
  fromBar: fc.nat({ max: 63 }).map(bars),
  metre: fc.option(metres),
  tempo: fc.option(fc.record({ bpm: fc.double({ min: 20, max: 400, noNaN: true }).map(bpm), mark: marks })),
  holds,
};

/** Stretches in order, most of which a long section takes; some have fermatas on beats that are not there. */
const stretchLists: fc.Arbitrary<readonly SectionStretch[]> = fc
  .uniqueArray(
    fc.oneof(
      fc.record({ type: fc.constant('steady' as const), ...measured }),
      fc.record({
        type: fc.constant('gradual' as const),
        ...measured,
        toBpm: fc.double({ min: 20, max: 400, noNaN: true }).map(bpm),
      }),
      fc.record({
        type: fc.constant('free' as const),
        fromBar: measured.fromBar,
        frames: fc.option(fc.integer({ min: 1, max: 1_000_000 }).map(frames)),
      }),
    ),
    { maxLength: 3, selector: ({ fromBar }) => fromBar },
  )
  .map((list) => list.toSorted((a, b) => a.fromBar - b.fromBar));

/** Songs of any content that holds: several sections, some of them open and empty, some with layers. */
export const songs: fc.Arbitrary<Song> = fc
  .record({
    title: names,
    rate: fc.constantFrom(44_100, 48_000, 96_000),
    tempo: fc.record({ bpm: fc.double({ min: 20, max: 400, noNaN: true }).map(bpm), mark: marks }),
    metre: metres,
    countIn: fc.constantFrom(null, bars(1), bars(2)),
    click: fc.record({ on: fc.boolean(), gain: gains }),
    sections: fc.array(
      fc.record({
        name: names,
        mark: fc.constantFrom('A', 'B', 'C'),
        length: fc.option(fc.integer({ min: 1, max: 64 }).map(bars)),
        stretches: stretchLists,
        layers: fc.array(layersOfSongs, { maxLength: 3 }),
        recede: recedes,
      }),
      { minLength: 1, maxLength: 3 },
    ),
    ideas: fc.array(ideas, { maxLength: 2 }),
  })
  .map(({ rate, sections, ideas: kept, ...rest }) => {
    const song = { ...ferrySong(), ...rest, sampleRate: sampleRate(rate) };
    return {
      ...song,
      ideas: kept.map((make, index) => make(`idea-${index}`)),
      sections: sections.map(({ length, stretches, layers, ...section }, index): Section => ({
        id: asId(`section-${index}`),
        ...section,
        bars: length,
        stretches: stretchesRefusal(song, { bars: length, stretches }) === null ? stretches : [],
        layers: length === null ? [] : layers.map((make, number) => make(`layer-${index}-${number}`)),
      })),
    };
  });

const sectionOf = (song: Song, pick: number): SectionId =>
  pick % 8 === 7 ? asId<SectionId>('section-nowhere') : song.sections[pick % song.sections.length]!.id;

function layerOf(song: Song, pick: number): { readonly section: SectionId; readonly layer: LayerId } {
  const section = song.sections[pick % song.sections.length]!;
  const layer = section.layers[Math.floor(pick / 8) % Math.max(1, section.layers.length)];
  return { section: sectionOf(song, pick), layer: layer?.id ?? asId<LayerId>('layer-nowhere') };
}

function takeOf(song: Song, pick: number): ReturnType<typeof layerOf> & { readonly take: TakeId } {
  const place = layerOf(song, pick);
  const takes = everyLayer(song).find(({ id }) => id === place.layer)?.takes ?? [];
  const take = pick % 5 === 4 ? undefined : takes[pick % Math.max(1, takes.length)];
  return { ...place, take: take?.id ?? asId<TakeId>('take-nowhere') };
}

const picks = fc.nat({ max: 999 });
/** Names, and what is not one: empty, all white space, padded, too long. */
const texts = fc.oneof(names, fc.constantFrom('', ' \t', '  Shaker ', 'n'.repeat(201)));
const wide = (low: number, high: number): fc.Arbitrary<number> =>
  fc.oneof(fc.integer({ min: low, max: high }), fc.double({ min: low, max: high, noNaN: true }));
const lengths = fc.option(fc.integer({ min: -1, max: 70 }).map(bars));

/** What was heard at the lines of takes, of some that are there and of some that are not. */
export const seamMakers: fc.Arbitrary<EditMaker> = fc
  .tuple(picks, smallSeams)
  .map(([pick, seam]): EditMaker => (song) => ({ type: 'set-seam', ...takeOf(song, pick), seam }));

/** Every kind of edit, within its limits and beyond them, at places that are there and places that are not. */
export const editMakers: fc.Arbitrary<EditMaker> = fc.oneof(
  texts.map((title): EditMaker => () => ({ type: 'retitle', title })),
  wide(1, 450).map((tempo): EditMaker => () => ({ type: 'set-tempo', bpm: bpm(tempo) })),
  fc.tuple(metres, marks, fc.boolean()).map(([metre, mark, spoiled]): EditMaker => () => ({
    type: 'set-metre',
    metre: spoiled ? { ...metre, num: metre.num + 1 } : metre,
    mark,
  })),
  fc.option(fc.integer({ min: 0, max: 4 }).map(bars)).map((length): EditMaker => () => ({
    type: 'set-count-in',
    bars: length,
  })),
  fc.boolean().map((on): EditMaker => () => ({ type: 'set-click', on })),
  fc.tuple(picks, lengths).map(([pick, length]): EditMaker => (song) => ({
    type: 'set-section-bars',
    section: sectionOf(song, pick),
    bars: length,
  })),
  fc.tuple(picks, stretchLists, fc.boolean()).map(([pick, stretches, turned]): EditMaker => (song) => ({
    type: 'set-stretches',
    section: sectionOf(song, pick),
    stretches: turned ? stretches.toReversed() : stretches,
    settles: false,
  })),
  fc
    .tuple(picks, fc.array(layerNamed, { minLength: 1, maxLength: 2 }), fc.integer({ min: 0, max: 66 }))
    .map(([pick, makers, length]): EditMaker => (song, fresh) => ({
      type: 'add-layers',
      section: sectionOf(song, pick),
      layers: makers.map((make, index) => make(`fresh-${fresh}-${index}`)),
      sectionBars: bars(length),
    })),
  fc.tuple(picks, texts).map(([pick, name]): EditMaker => (song) => ({
    type: 'rename-layer',
    ...layerOf(song, pick),
    name,
  })),
  fc.tuple(picks, fc.boolean()).map(([pick, out]): EditMaker => (song) => ({
    type: 'leave-out',
    ...layerOf(song, pick),
    out,
  })),
  fc.tuple(picks, wide(-80, 20)).map(([pick, gain]): EditMaker => (song) => ({
    type: 'set-layer-gain',
    ...layerOf(song, pick),
    gain: decibels(gain),
  })),
  fc.tuple(picks, wide(-5, 30)).map(([pick, recede]): EditMaker => (song) => ({
    type: 'set-recede',
    section: sectionOf(song, pick),
    recede: decibels(recede),
  })),
  fc.tuple(picks, takeContents).map(([pick, take]): EditMaker => (song, fresh) => ({
    type: 'add-take',
    ...layerOf(song, pick),
    take: { id: asId<TakeId>(`fresh-${fresh}-take`), ...take },
  })),
  picks.map((pick): EditMaker => (song) => ({ type: 'use-take', ...takeOf(song, pick) })),
  seamMakers,
  fc.tuple(picks, fc.option(seamKinds), fc.boolean()).map(([pick, chosen, pickup]): EditMaker => (song) => ({
    type: 'choose-seam',
    ...takeOf(song, pick),
    chosen,
    pickup,
  })),
  fc.tuple(picks, alignments).map(([pick, alignment]): EditMaker => (song) => ({
    type: 'realign',
    ...takeOf(song, pick),
    alignment,
  })),
  fc
    .tuple(picks, fc.array(picks, { maxLength: 3 }), layerNamed)
    .map(([pick, others, make]): EditMaker => (song, fresh) => ({
      type: 'blend',
      section: sectionOf(song, pick),
      layers: others.map((other) => layerOf(song, pick + 8 * song.sections.length * other).layer),
      into: make(`fresh-${fresh}`),
    })),
  picks.map((pick): EditMaker => (song) => ({ type: 'take-apart', ...layerOf(song, pick) })),
  fc
    .tuple(picks, wide(15, 420), fc.integer({ min: 0, max: 66 }), fc.boolean())
    .map(([pick, value, length, first]): EditMaker => (song) => {
      const tempo = { ...song.tempo, bpm: bpm(value) };
      const bodyFrames = frames(length * barFrames(song.metre, tempo, song.sampleRate));
      return { type: 'read-as', first, section: sectionOf(song, pick), bpm: tempo.bpm, bars: bars(length), bodyFrames };
    }),
  ideas.map((make): EditMaker => (_, fresh) => ({ type: 'add-idea', idea: make(`idea-fresh-${fresh}`) })),
  picks.map((pick): EditMaker => (song) => ({
    type: 'drop-idea',
    idea: song.ideas[pick % Math.max(1, song.ideas.length)]?.id ?? asId<IdeaId>('idea-nowhere'),
  })),
);

/** Freezes a value and all it holds, so that whoever would change it throws. */
export function deepFrozen<Value>(value: Value): Value {
  if (typeof value === 'object' && value !== null) {
    Object.values(value).forEach(deepFrozen);
    Object.freeze(value);
  }
  return value;
}
