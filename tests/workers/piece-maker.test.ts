/** What AudioData promises: WebCodecs (W3C), copyTo with a format of f32-planar. */
import { describe, expect, test } from 'vitest';
import type { CountedPiece } from '../../src/protocol/counted.js';
import type { CapturedData } from '../../src/workers/piece-maker.js';
import { PieceMaker } from '../../src/workers/piece-maker.js';

const RATE = 48_000;

class Data implements CapturedData {
  readonly sampleRate: number;
  readonly numberOfFrames: number;
  readonly numberOfChannels: number;
  readonly #channels: readonly (readonly number[])[];
  closed = 0;

  constructor(channels: readonly (readonly number[])[], rate = RATE) {
    this.#channels = channels;
    this.sampleRate = rate;
    this.numberOfFrames = channels[0]?.length ?? 0;
    this.numberOfChannels = channels.length;
  }

  copyTo(into: Float32Array, { planeIndex }: { readonly planeIndex: number }): void {
    const plane = this.#channels[planeIndex];
    if (plane === undefined || into.length < plane.length) throw new RangeError('no such plane, or too small for it');
    into.set(plane);
  }

  close(): void {
    this.closed++;
  }
}

function maker(channels = 1) {
  const posted: CountedPiece[] = [];
  const made = new PieceMaker({ sampleRate: RATE, channels }, (piece, transfer) => {
    posted.push(structuredClone(piece, { transfer }));
  });
  return { made, posted };
}

describe('pieces of the input', () => {
  test('count its frames from the first, whatever their lengths', () => {
    const { made, posted } = maker();
    for (const length of [3, 480, 1]) made.take(new Data([Array.from({ length }, (_, i) => i)]));
    expect(posted.map(({ frame, frames }) => [frame, frames])).toEqual([
      [0, 3],
      [3, 480],
      [483, 1],
    ]);
  });

  test.each<[string, number[][], number[]]>([
    [
      'planar as they are',
      [
        [1, 2],
        [3, 4],
      ],
      [1, 2, 3, 4],
    ],
    ['with silence for a channel that is missing', [[1, 2]], [1, 2, 0, 0]],
    [
      'without channels that nobody wants',
      [
        [1, 2],
        [3, 4],
        [5, 6],
      ],
      [1, 2, 3, 4],
    ],
  ])('are %s', (_, channels, expected) => {
    const { made, posted } = maker(2);
    // A buffer that comes back has something in it.
    made.giveBack(new Float32Array(4).fill(9));
    made.take(new Data(channels));
    expect([...posted[0]!.samples]).toEqual(expected);
  });

  test('travel in the buffers that were given back, as long as these are long enough', () => {
    const { made, posted } = maker();
    made.take(new Data([[1, 2, 3]]));
    made.giveBack(posted[0]!.samples);
    made.take(new Data([[4, 5]]));
    expect(posted[1]).toMatchObject({ frame: 3, frames: 2 });
    expect([...posted[1]!.samples.subarray(0, 2)]).toEqual([4, 5]);
    expect(posted[1]!.samples).toHaveLength(3);
    made.giveBack(posted[1]!.samples);
    made.take(new Data([[6, 7, 8, 9]]));
    expect([...posted[2]!.samples]).toEqual([6, 7, 8, 9]);
  });

  test('are counted and left out where nobody takes them for ten seconds', () => {
    const { made, posted } = maker();
    const second = new Data([Array.from({ length: RATE }, () => 0.5)]);
    for (let i = 0; i < 12; i++) made.take(second);
    expect(posted).toHaveLength(10);
    made.giveBack(posted[0]!.samples);
    made.take(second);
    expect(posted.at(-1)).toMatchObject({ frame: 12 * RATE });
  });

  test('are not made of another rate, nor of what cannot be read', () => {
    const { made, posted } = maker();
    expect(made.take(new Data([[1]], 44_100))).toBe('other-rate');
    const unreadable = new Data([[1]]);
    unreadable.copyTo = () => {
      throw new DOMException('', 'NotSupportedError');
    };
    expect(made.take(unreadable)).toBe('unreadable');
    expect(posted).toEqual([]);
  });

  test('leave nothing open', () => {
    const { made } = maker();
    const all = [new Data([[1]]), new Data([[1]], 44_100)];
    all.forEach((data) => made.take(data));
    expect(all.map(({ closed }) => closed)).toEqual([1, 1]);
  });
});
