import { expect, test } from 'vitest';
import { success } from '../../src/core/result/result.js';
import { Keeping } from '../../src/rehearsal/keeping.js';

test.each([0, 1, 2, 3, 4, 5, 6, 7, 8])(
  'a write that comes %i promises after the last one is made, too',
  async (later) => {
    const keeping = new Keeping(null, () => undefined);
    const made: number[] = [];
    const write = (number: number) => () => {
      made.push(number);
      return Promise.resolve(success(null));
    };
    keeping.enqueue(write(1));
    for (let turn = 0; turn < later; turn++) await Promise.resolve();
    keeping.enqueue(write(2));
    await new Promise((resolve) => setImmediate(resolve));
    expect(made).toEqual([1, 2]);
    expect(keeping.isBehind).toBe(false);
  },
);
