import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { AudioStore } from '../../../src/core/render/audio-store.js';
import { Horizon } from '../../../src/core/render/horizon.js';
import {
  CHUNK_FRAMES,
  ChunkPool,
  DEFAULT_POOL_BYTES,
  SLAB_BYTES,
  SLAB_CHUNKS,
  SLAB_FRAMES,
} from '../../../src/core/render/pool.js';
import { Residency } from '../../../src/core/render/residency.js';
import { Wants } from '../../../src/core/render/wants.js';

const slab = () => new Float32Array(SLAB_FRAMES);

describe('the pool', () => {
  test('has a budget of 512 MB unless it is told otherwise, in slabs of 8 MB', () => {
    expect(SLAB_BYTES).toBe(8 * 1024 * 1024);
    expect(DEFAULT_POOL_BYTES).toBe(512 * 1024 * 1024);
    expect(new ChunkPool().limit * CHUNK_FRAMES * 4).toBe(DEFAULT_POOL_BYTES);
    expect(new ChunkPool(20 * 1024 * 1024).limit).toBe(2 * SLAB_CHUNKS);
  });

  test.each([0, -1, NaN, SLAB_BYTES - 1])('of %s bytes says what it got and what it expects', (bytes) => {
    expect(() => new ChunkPool(bytes)).toThrow(/^Got a pool of .* when expected at least 8388608\.$/);
  });

  test('takes slabs of one size, and none above its budget', () => {
    const pool = new ChunkPool(SLAB_BYTES);
    expect(() => pool.addSlab(new Float32Array(CHUNK_FRAMES))).toThrow(/^Got a slab of 16384 frames/);
    pool.addSlab(slab());
    expect(pool.isWhole).toBe(true);
    expect(() => pool.addSlab(slab())).toThrow(/^Got another slab when expected at most 1\.$/);
  });

  test('hands out every chunk once, each with memory of its own', () => {
    const pool = new ChunkPool(2 * SLAB_BYTES);
    pool.addSlab(slab());
    pool.addSlab(slab());
    const taken = Array.from({ length: 2 * SLAB_CHUNKS }, () => pool.take());
    expect(new Set(taken).size).toBe(2 * SLAB_CHUNKS);
    const places = taken.map((chunk) => `${pool.slabOf(chunk).byteLength} ${chunk >> 7} ${pool.offsetOf(chunk)}`);
    expect(new Set(places).size).toBe(2 * SLAB_CHUNKS);
    expect(pool.take()).toBe(-1);
    pool.giveBack(17);
    expect([pool.freeChunks, pool.take(), pool.take()]).toEqual([1, 17, -1]);
  });
});

describe('what may be let go', () => {
  /** Chunks 0, 1, 2 … entered in this order, and an owner that notes what it lost. */
  function entered(count: number) {
    const residency = new Residency(count + 1);
    const lost: number[] = [];
    const owner = { forget: (index: number) => lost.push(index) };
    for (let chunk = 0; chunk < count; chunk++) residency.enter(chunk, owner, 100 + chunk);
    return { residency, lost };
  }

  test('goes in the order in which it was needed last, and its owner is told', () => {
    const { residency, lost } = entered(5);
    residency.beginRound();
    residency.touch(1);
    residency.touch(0);
    residency.beginRound();
    residency.touch(3);
    residency.beginRound();
    residency.beginRound();
    expect([1, 2, 3, 4, 5, 6].map(() => residency.evict())).toEqual([2, 4, 1, 0, 3, -1]);
    expect(lost).toEqual([102, 104, 101, 100, 103]);
    expect(residency.size).toBe(0);
  });

  test('stays while it was needed in this round or the last', () => {
    const { residency } = entered(2);
    expect(residency.evict()).toBe(-1);
    residency.beginRound();
    expect(residency.evict()).toBe(-1);
    residency.touch(0);
    residency.beginRound();
    expect([residency.evict(), residency.evict()]).toEqual([1, -1]);
    residency.beginRound();
    expect([residency.evict(), residency.evict()]).toEqual([0, -1]);
  });

  test('is needed once a round, however many voices name it', () => {
    const { residency } = entered(1);
    residency.beginRound();
    expect([residency.touch(0), residency.touch(0)]).toEqual([true, false]);
    // What never entered is not counted, and never goes.
    expect(residency.touch(1)).toBe(false);
  });

  test('goes first where it was played for the last time, unless somebody else needs it', () => {
    const { residency } = entered(4);
    residency.beginRound();
    residency.touch(3);
    residency.beginRound();
    residency.retire(2);
    residency.retire(3);
    residency.beginRound();
    expect([1, 2, 3, 4].map(() => residency.evict())).toEqual([2, 0, 1, 3]);
  });

  test('is what a plain list says, for any history', () => {
    const step = fc.tuple(fc.constantFrom('touch', 'round', 'evict', 'enter'), fc.integer({ min: 0, max: 7 }));
    fc.assert(
      fc.property(fc.array(step, { maxLength: 80 }), (steps) => {
        const residency = new Residency(8);
        const owner = { forget: () => undefined };
        let list: { chunk: number; round: number }[] = [];
        let round = 0;
        for (const [what, chunk] of steps) {
          const known = list.find((each) => each.chunk === chunk);
          if (what === 'round') {
            residency.beginRound();
            round++;
          } else if (what === 'enter' && known === undefined) {
            residency.enter(chunk, owner, 0);
            list.push({ chunk, round });
          } else if (what === 'touch' && known !== undefined) {
            residency.touch(chunk);
            if (known.round < round) list = [...list.filter((each) => each !== known), { chunk, round }];
          } else if (what === 'evict') {
            const oldest = list[0];
            const goes = oldest !== undefined && oldest.round < round - 1;
            expect(residency.evict()).toBe(goes ? oldest.chunk : -1);
            if (goes) list = list.slice(1);
          }
          expect(residency.size).toBe(list.length);
        }
      }),
    );
  });
});

describe('the list of wants', () => {
  const store = new AudioStore(new ChunkPool(SLAB_BYTES));

  test('gives those needed soonest first, and of many only those', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 0, max: 30 }), fc.integer({ min: 0, max: 1000 })), { maxLength: 60 }),
        (added) => {
          const owner = store.growing(1, 0);
          const wants = new Wants(8);
          const soonest = new Map<number, number>();
          for (const [index, frame] of added) {
            wants.add(owner, index, frame);
            soonest.set(index, Math.min(frame, soonest.get(index) ?? Infinity));
          }
          const got: number[] = [];
          while (!wants.isEmpty) {
            wants.ask(got.length);
            got.push(soonest.get(wants.asked)!);
            expect(owner.isAsked(wants.asked)).toBe(true);
          }
          const all = [...soonest.values()].sort((a, b) => a - b);
          expect(got.length).toBeLessThanOrEqual(8);
          expect(got).toEqual(all.slice(0, got.length));
          if (soonest.size <= 8) expect(got).toHaveLength(soonest.size);
        },
      ),
    );
  });

  test('forgets what it gives up, so that it can be wanted again', () => {
    const owner = store.growing(2, 0);
    const wants = new Wants(2);
    wants.add(owner, 3, 100);
    wants.add(owner, 4, 300);
    wants.add(owner, 5, 200);
    expect([3, 4, 5].map((index) => owner.chunkAt(index))).toEqual([-2, -1, -2]);
    wants.giveUpBefore(101);
    expect([3, 4, 5].map((index) => owner.chunkAt(index))).toEqual([-1, -1, -2]);
    wants.clear();
    expect(owner.chunkAt(5)).toBe(-1);
    expect(wants.ask(0)).toBeNull();
  });
});

describe('the horizon', () => {
  const RATE = 48_000;

  test('is five seconds and a round where the pool has room', () => {
    const horizon = new Horizon(RATE);
    horizon.fit(1000, 0, 0, 2000);
    expect(horizon.frames).toBe(5.5 * RATE);
    expect(horizon.readyFrames).toBe(5 * RATE);
    expect(horizon.standByFrames).toBe(2 * RATE);
  });

  test('comes nearer for all voices alike where there is none, and goes back as there is', () => {
    const horizon = new Horizon(RATE);
    horizon.fit(2000, 0, 0, 1000);
    expect(horizon.frames).toBe(2.75 * RATE);
    expect(horizon.readyFrames).toBe(2.75 * RATE);
    horizon.fit(1000, 0, 0, 1000);
    expect(horizon.frames).toBe(2.75 * RATE);
    for (let round = 0; round < 20; round++) horizon.fit(500, 0, 0, 1000);
    expect(horizon.frames).toBe(5.5 * RATE);
  });

  test('is never less than the chunk that sounds and the next', () => {
    const horizon = new Horizon(RATE);
    for (let round = 0; round < 20; round++) horizon.fit(5000, 0, 0, 100);
    expect(horizon.frames).toBe(2 * CHUNK_FRAMES);
  });

  test('is given up for what stands by first', () => {
    const horizon = new Horizon(RATE);
    horizon.fit(900, 160, 20, 1000);
    expect(horizon.standByFrames).toBe(4 * CHUNK_FRAMES);
    expect(horizon.frames).toBe(5.5 * RATE);
    horizon.fit(990, 80, 20, 1000);
    expect(horizon.standByFrames).toBe(CHUNK_FRAMES);
    expect(horizon.frames).toBeLessThan(5.5 * RATE);
  });
});
