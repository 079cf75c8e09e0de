import fc from 'fast-check';
import type * as v from 'valibot';
import { describe, expect, expectTypeOf, test } from 'vitest';
import type { StoredHistory } from '../../src/core/history/history.js';
import type { Edit } from '../../src/core/song/edits.js';
import type { editSchema } from '../../src/storage/document-schema.js';
import { parseStoredHistory } from '../../src/storage/parse-document.js';
import { storedHistories } from '../core/history/arbitraries.js';
import { layeredDocument, wholeDocument } from './support/whole-document.js';

const DAMAGED = { ok: false, reason: 'damaged' };
const NEWER = { ok: false, reason: 'newer-version' };

type Path = readonly string[];

/** Every path into a value, its own (empty) one first. */
function paths(value: unknown, from: Path = []): readonly Path[] {
  if (typeof value !== 'object' || value === null) return [from];
  return [from, ...Object.entries(value).flatMap(([key, each]) => paths(each, [...from, key]))];
}

function at(value: unknown, path: Path): unknown {
  return path.reduce<unknown>((inner, key) => (inner as Record<string, unknown>)[key], value);
}

/** A copy with another value at a path; without the key at all for REMOVED. */
const REMOVED = Symbol('removed');
function changed(value: unknown, path: Path, fresh: unknown): unknown {
  const [key, ...rest] = path;
  if (key === undefined) return fresh;
  const copy = structuredClone(value) as Record<string, unknown>;
  if (rest.length === 0 && fresh === REMOVED) Reflect.deleteProperty(copy, key);
  else copy[key] = changed(copy[key], rest, fresh);
  return copy;
}

const kindOf = (value: unknown): string => (Array.isArray(value) ? 'array' : value === null ? 'null' : typeof value);
const ofEveryKind = [undefined, null, true, 7, 'text', [], {}];

/** Lengths that may be open, stretches that have the song's tempo or metre, a count-in that may be chosen by the tempo, and seams that nobody chose or decided. */
const NULLABLE: readonly (readonly [RegExp, kind: string])[] = [
  [/^base\.countIn$/, 'number'],
  [/^base\.sections\.\d+\.bars$/, 'number'],
  [/^edits\.\d+\.edit\.bars$/, 'number'],
  [/\.stretches\.\d+\.(metre|tempo)$/, 'object'],
  [/\.stretches\.\d+\.frames$/, 'number'],
  [/\.seam\.decided$/, 'object'],
  [/\.chosen$/, 'string'],
];

/** What documents of this version were first written without. */
const CAME_LATER = /^base\.sections\.\d+\.stretches$/;

function wrongValues(document: unknown, path: Path): readonly unknown[] {
  const nullable = NULLABLE.find(([pattern]) => pattern.test(path.join('.')));
  const right = nullable === undefined ? [kindOf(at(document, path))] : [nullable[1], 'null'];
  if (CAME_LATER.test(path.join('.'))) right.push('undefined');
  return ofEveryKind.filter((value) => !right.includes(kindOf(value)));
}

const documents: readonly [string, StoredHistory][] = [
  ['a journal with every kind of edit', wholeDocument],
  ['a base with layers', layeredDocument],
];

describe('a document of our own', () => {
  test.each(documents)('parses: %s', (_, document) => {
    expect(parseStoredHistory(structuredClone(document))).toEqual({ ok: true, value: document });
  });

  test('is the same after it was stored and parsed, whatever is in it', () => {
    fc.assert(
      fc.property(storedHistories, (document) => {
        expect(parseStoredHistory(structuredClone(document))).toEqual({ ok: true, value: document });
      }),
    );
  });

  test('that was written before sections had stretches has none', () => {
    const before = wholeDocument.base.sections.reduce<unknown>(
      (document, _, index) => changed(document, ['base', 'sections', String(index), 'stretches'], REMOVED),
      wholeDocument,
    );
    expect(before).not.toEqual(wholeDocument);
    expect(parseStoredHistory(before)).toEqual({ ok: true, value: wholeDocument });
  });

  test('can hold every kind of edit there is', () => {
    expectTypeOf<v.InferOutput<typeof editSchema>['type']>().toEqualTypeOf<Edit['type']>();
    expect(new Set(wholeDocument.edits.map(({ edit }) => edit.type)).size).toBe(20);
  });
});

describe.each(documents)('a damaged document: %s', (_name, document) => {
  const places = paths(document);

  test('any value of another kind is found, wherever it is', () => {
    const found = places.flatMap((path) =>
      wrongValues(document, path).map(
        (wrong) => [path, wrong, parseStoredHistory(changed(document, path, wrong))] as const,
      ),
    );
    expect(found.length).toBeGreaterThan(300);
    expect(found.filter(([, , result]) => result.ok || result.reason !== 'damaged')).toEqual([]);
  });

  test('any value that is missing is found, and any that is too many', () => {
    const inObjects = places.filter(
      (path) =>
        path.length > 0 && kindOf(at(document, path.slice(0, -1))) === 'object' && !CAME_LATER.test(path.join('.')),
    );
    const objects = places.filter((path) => kindOf(at(document, path)) === 'object');
    for (const path of inObjects)
      expect(parseStoredHistory(changed(document, path, REMOVED)), path.join('.')).toEqual(DAMAGED);
    for (const path of objects) {
      expect(parseStoredHistory(changed(document, [...path, 'more'], 1)), path.join('.')).toEqual(DAMAGED);
    }
  });

  test('any number that is none is found, and any fraction of what comes whole', () => {
    const fractions = /\.(bpm|toBpm|beats|gain|recede|sampleRate|fadeInShape|fadeOutShape)$/;
    for (const path of places.filter((each) => kindOf(at(document, each)) === 'number')) {
      const where = path.join('.');
      expect(parseStoredHistory(changed(document, path, NaN)), where).toEqual(DAMAGED);
      expect(parseStoredHistory(changed(document, path, -Infinity)), where).toEqual(DAMAGED);
      if (!fractions.test(where)) expect(parseStoredHistory(changed(document, path, 1.5)), where).toEqual(DAMAGED);
    }
  });

  test('any word of a closed list that is not in it is found, and so is an identity that is empty', () => {
    for (const path of places.filter((each) => ['how', 'type', 'kind', 'chosen'].includes(each.at(-1) ?? ''))) {
      expect(parseStoredHistory(changed(document, path, 'guessed')), path.join('.')).toEqual(DAMAGED);
    }
    for (const path of places.filter((each) =>
      ['id', 'section', 'takeInUse', 'recording', 'take', 'idea'].includes(each.at(-1) ?? ''),
    )) {
      expect(parseStoredHistory(changed(document, path, '')), path.join('.')).toEqual(DAMAGED);
    }
  });
});

test('a value of another kind is found in documents of any content', () => {
  const spoiled = storedHistories.chain((document) => {
    const path = fc.constantFrom(...paths(document));
    return path.chain((place) =>
      fc.constantFrom(...wrongValues(document, place)).map((wrong) => ({ document, place, wrong })),
    );
  });
  fc.assert(
    fc.property(spoiled, ({ document, place, wrong }) => {
      expect(parseStoredHistory(changed(document, place, wrong))).toEqual(DAMAGED);
    }),
    { numRuns: 500 },
  );
});

describe('a document that has the form but cannot be', () => {
  test.each<[string, string, unknown]>([
    ['a tempo out of range', 'base.tempo.bpm', 1000],
    ['a metre that does not add up', 'base.metre.num', 5],
    ['no section', 'base.sections', []],
    ['a cursor beyond the journal', 'cursor', wholeDocument.edits.length + 1],
    ['a cursor before the journal', 'cursor', -1],
    ['a journal with a hole', 'edits.3.seq', 5],
    ['an edit that was never possible', 'edits.1.edit.bpm', 5],
    ['a layer that is not there', 'edits.11.edit.layer', 'layer-nowhere'],
    ['a layer that came twice', 'edits.9.edit.layers.0', at(wholeDocument, ['edits', '8', 'edit', 'layers', '0'])],
    [
      'a take that came twice',
      'edits.13.edit.take',
      at(wholeDocument, ['edits', '8', 'edit', 'layers', '0', 'takes', '0']),
    ],
    ['a seam beyond its take', 'edits.15.edit.seam.leadFrames', 2401],
    ['a blend of what is not there', 'edits.20.edit.layers.0', 'layer-nowhere'],
  ])('is damaged: %s', (_, path, value) => {
    expect(parseStoredHistory(changed(wholeDocument, path.split('.'), value))).toEqual(DAMAGED);
  });

  test.each([null, undefined, 1, 'text', [], {}, { base: {} }, { base: null, edits: [], cursor: 0 }])(
    'is damaged: %j',
    (value) => {
      expect(parseStoredHistory(value)).toEqual(DAMAGED);
    },
  );
});

describe('the schema of a document', () => {
  test.each([2, 3, 1000])('above ours says that a newer version wrote it: %i', (schema) => {
    expect(parseStoredHistory(changed(wholeDocument, ['base', 'schema'], schema))).toEqual(NEWER);
    expect(parseStoredHistory({ base: { schema, song: 'of another form' }, journal: [] })).toEqual(NEWER);
  });

  test.each([0, -1, 1.5, 2.5, NaN, Infinity, '2', null])('that never was is damage: %j', (schema) => {
    expect(parseStoredHistory(changed(wholeDocument, ['base', 'schema'], schema))).toEqual(DAMAGED);
  });
});
