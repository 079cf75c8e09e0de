import { describe, expect, test, vi } from 'vitest';
import { isPersistent, requestPersistence } from '../../src/storage/persistence.js';

const withStorage = (storage: unknown): void => void vi.stubGlobal('navigator', { storage });

describe('the browser’s promise to keep the data', () => {
  test.each([true, false])('is told as the browser tells it: %j', async (answer) => {
    withStorage({ persisted: () => Promise.resolve(answer), persist: () => Promise.resolve(answer) });
    expect(await isPersistent()).toBe(answer);
    expect(await requestPersistence()).toBe(answer);
  });

  test('is asked for only on request', async () => {
    const persist = vi.fn(() => Promise.resolve(true));
    withStorage({ persisted: () => Promise.resolve(false), persist });
    await isPersistent();
    expect(persist).not.toHaveBeenCalled();
    await requestPersistence();
    expect(persist).toHaveBeenCalledOnce();
  });

  test.each<[string, () => void]>([
    ['there is no navigator', () => vi.stubGlobal('navigator', undefined)],
    [
      'the browser has no storage manager',
      () => {
        withStorage(undefined);
      },
    ],
    [
      'the manager cannot promise',
      () => {
        withStorage({});
      },
    ],
    [
      'asking fails',
      () => {
        withStorage({
          persisted: () => Promise.reject(new TypeError()),
          persist: () => Promise.reject(new TypeError()),
        });
      },
    ],
    [
      'asking throws',
      () => {
        withStorage({
          persisted: () => {
            throw new TypeError();
          },
          persist: () => {
            throw new TypeError();
          },
        });
      },
    ],
  ])('is not given where %s', async (_, browser) => {
    browser();
    expect(await isPersistent()).toBe(false);
    expect(await requestPersistence()).toBe(false);
  });
});
