/** MediaStreamTrackProcessor: mediacapture-transform (W3C), on the page in some browsers only. */
import { afterEach, describe, expect, test, vi } from 'vitest';
import type { FromCounter } from '../../src/protocol/counted.js';
import { countInput } from '../../src/sound/counted-input.js';

const WANTED = { sampleRate: 48_000, channels: 2 };

class FakeWorker {
  static last: FakeWorker | null = null;
  readonly url: string;
  readonly options: object;
  onmessage: ((event: { readonly data: FromCounter }) => void) | null = null;
  onerror: (() => void) | null = null;
  readonly posted: { readonly message: unknown; readonly transfer: readonly unknown[] }[] = [];
  terminated = false;

  constructor(url: string, options: object) {
    this.url = url;
    this.options = options;
    FakeWorker.last = this;
  }

  postMessage(message: unknown, transfer: readonly unknown[]): void {
    this.posted.push({ message, transfer });
  }

  terminate(): void {
    this.terminated = true;
  }

  tell(data: FromCounter): void {
    this.onmessage?.({ data });
  }
}

const readable = { of: 'track' };

function browser(
  processor: unknown = class {
    readonly readable = readable;
  },
): void {
  FakeWorker.last = null;
  vi.stubGlobal('Worker', FakeWorker);
  if (processor !== null) vi.stubGlobal('MediaStreamTrackProcessor', processor);
}

const track = {} as MediaStreamTrack;
const begun = () => countInput(track, '/counter.js', WANTED);

afterEach(() => {
  vi.useRealTimers();
});

describe('input that is counted where it is captured', () => {
  test('goes to a worker as a stream, and comes back by a port', async () => {
    browser();
    const counting = begun();
    const worker = FakeWorker.last!;
    expect(worker).toMatchObject({ url: '/counter.js', options: { type: 'module' } });
    const [sent] = worker.posted;
    expect(sent?.message).toEqual({ stream: readable, ...WANTED });
    expect(sent?.transfer).toEqual([expect.any(MessagePort), readable]);
    worker.tell({ type: 'counting' });
    const counted = await counting;
    expect(counted?.port).toBeInstanceOf(MessagePort);
    counted?.stop();
    expect(worker.terminated).toBe(true);
  });

  test.each(['other-rate', 'unreadable'] as const)('is not taken where the worker refuses it: %s', async (why) => {
    browser();
    const counting = begun();
    FakeWorker.last!.tell({ type: 'refused', why });
    expect(await counting).toBeNull();
    expect(FakeWorker.last!.terminated).toBe(true);
  });

  test('is not taken where the worker cannot be loaded', async () => {
    browser();
    const counting = begun();
    FakeWorker.last!.onerror?.();
    expect(await counting).toBeNull();
  });

  test('is not taken where nothing comes for two seconds', async () => {
    vi.useFakeTimers();
    browser();
    const counting = begun();
    await vi.advanceTimersByTimeAsync(2000);
    expect(await counting).toBeNull();
    expect(FakeWorker.last!.terminated).toBe(true);
  });

  test('is not tried in a browser that has no such thing, nor with a track that is not its own', async () => {
    browser(null);
    expect(await begun()).toBeNull();
    browser(function refuse() {
      throw new TypeError('not a track');
    });
    expect(await begun()).toBeNull();
    expect(FakeWorker.last).toBeNull();
  });

  test.each<[string, (worker: FakeWorker) => void]>([
    ['the worker says so', (worker) => worker.tell({ type: 'ended' })],
    ['the worker fails', (worker) => worker.onerror?.()],
  ])('tells its end when %s', async (_, end) => {
    browser();
    const counting = begun();
    FakeWorker.last!.tell({ type: 'counting' });
    const told = vi.fn();
    (await counting)?.whenEnded(told);
    expect(told).not.toHaveBeenCalled();
    end(FakeWorker.last!);
    expect(told).toHaveBeenCalledOnce();
  });
});
