/** latencyHint and setSinkId: Web Audio API 1.1 (W3C). */
import { beforeEach, describe, expect, test, vi } from 'vitest';
import { sampleRate } from '../../src/core/units/index.js';
import type { SoundRequest } from '../../src/ports/sound.js';
import { openContext, outputOf } from '../../src/sound/context.js';

const REQUEST: SoundRequest = { sampleRate: sampleRate(48_000), pace: 'steady', inputId: null, outputId: null };

class FakeContext {
  static refuses: 'rate' | 'output' | null = null;
  static readonly made: FakeContext[] = [];
  sinkId = '';
  state = 'suspended';

  readonly options: AudioContextOptions;

  constructor(options: AudioContextOptions) {
    this.options = options;
    if (FakeContext.refuses === 'rate') throw new DOMException('', 'NotSupportedError');
    FakeContext.made.push(this);
  }

  setSinkId(id: string): Promise<void> {
    if (FakeContext.refuses === 'output') return Promise.reject(new DOMException('', 'NotFoundError'));
    this.sinkId = id;
    return Promise.resolve();
  }

  close(): Promise<void> {
    this.state = 'closed';
    return Promise.resolve();
  }
}

beforeEach(() => {
  FakeContext.refuses = null;
  FakeContext.made.length = 0;
  vi.stubGlobal('AudioContext', FakeContext);
  vi.stubGlobal('AudioWorkletNode', vi.fn());
  vi.stubGlobal('isSecureContext', true);
});

describe('the context', () => {
  test.each([
    ['steady', 0.1],
    ['quick', 'interactive'],
  ] as const)('is opened at the rate of the song, %s', async (pace, latencyHint) => {
    await openContext({ ...REQUEST, pace });
    expect(FakeContext.made[0]?.options).toEqual({ sampleRate: 48_000, latencyHint });
  });

  test('is refused at a rate that the browser does not have', async () => {
    FakeContext.refuses = 'rate';
    expect(await openContext(REQUEST)).toEqual({ ok: false, reason: 'rate-refused' });
  });

  test('plays to the output that was asked for', async () => {
    const opened = await openContext({ ...REQUEST, outputId: 'out-1' });
    expect(opened.ok && outputOf(opened.value)).toBe('out-1');
  });

  test('plays to the default where none was asked for', async () => {
    const opened = await openContext(REQUEST);
    expect(opened.ok && outputOf(opened.value)).toBeNull();
  });

  test('is closed again where the output is not there', async () => {
    FakeContext.refuses = 'output';
    expect(await openContext({ ...REQUEST, outputId: 'gone' })).toEqual({ ok: false, reason: 'no-output-device' });
    expect(FakeContext.made.map(({ state }) => state)).toEqual(['closed']);
  });

  test('refuses an output where the browser cannot choose one', async () => {
    vi.stubGlobal(
      'AudioContext',
      class {
        close = () => Promise.resolve();
      },
    );
    expect(await openContext({ ...REQUEST, outputId: 'out-1' })).toEqual({ ok: false, reason: 'no-output-device' });
  });

  test.each([
    ['AudioContext', true, 'no-audio'],
    ['AudioWorkletNode', true, 'no-worklets'],
    ['AudioWorkletNode', false, 'not-secure'],
  ])('is missing without %s, in a page that is secure: %s', async (name, secure, reason) => {
    vi.stubGlobal(name, undefined);
    vi.stubGlobal('isSecureContext', secure);
    expect(await openContext(REQUEST)).toEqual({ ok: false, reason });
  });
});
