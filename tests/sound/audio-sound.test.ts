import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { EngineReport } from '../../src/core/render/commands.js';
import { sampleRate } from '../../src/core/units/index.js';
import type { SoundInterruption, SoundObservation, SoundRequest } from '../../src/ports/sound.js';
import { AudioSound } from '../../src/sound/audio-sound.js';
import { FakeBrowser } from './support/fake-browser.js';

const REQUEST: SoundRequest = { sampleRate: sampleRate(48_000), pace: 'steady', inputId: null, outputId: null };
const INPUT = { id: 'in-1', name: 'Two-channel interface' };

let sound: AudioSound;
let reports: EngineReport[];
let why: SoundInterruption[];
let seen: SoundObservation[];

function soundIn(browser: FakeBrowser): FakeBrowser {
  sound = new AudioSound({ processorUrl: '/processor.js', counterUrl: '/counter.js' });
  sound.listen({
    report: (report) => reports.push(report),
    interrupted: (reason) => why.push(reason),
    observed: (observation) => seen.push(observation),
  });
  return browser;
}

beforeEach(() => {
  reports = [];
  why = [];
  seen = [];
});

afterEach(async () => {
  vi.useRealTimers();
  await sound.close();
});

describe('sound that is opened', () => {
  test.each([
    [true, 'track'],
    [false, 'processor'],
  ] as const)('is recorded by the way that the browser has: frames of the track %s, %s', async (counts, capture) => {
    const browser = soundIn(new FakeBrowser(counts));
    expect(await sound.open(REQUEST)).toMatchObject({
      ok: true,
      value: { capture, pace: 'steady', inputId: 'in-1', inputName: INPUT.name, baseLatency: 4800, lookAhead: 96 },
    });
    expect(browser.node.sent.some(({ type }) => type === 'use-counted')).toBe(counts);
  });

  test('is not opened where the engine never gives the captured frames their numbers, and leaves nothing open', async () => {
    vi.useFakeTimers();
    const browser = soundIn(new FakeBrowser(true));
    browser.settles = false;
    const opening = sound.open(REQUEST);
    await vi.advanceTimersByTimeAsync(5000);
    expect(await opening).toEqual({ ok: false, reason: 'engine-failed' });
    expect(browser.contexts.map(({ state }) => state)).toEqual(['closed']);
    expect(browser.track.readyState).toBe('ended');
    expect(browser.workers.map(({ terminated }) => terminated)).toEqual([true]);
  });

  test.each([
    ['permission', 'permission-refused'],
    ['rate', 'rate-refused'],
  ] as const)(
    'is not opened where the browser refuses the %s, leaves nothing open, and can be tried again',
    async (what, reason) => {
      const browser = soundIn(new FakeBrowser(true));
      browser.refuses = what;
      expect(await sound.open(REQUEST)).toEqual({ ok: false, reason });
      expect(browser.contexts.map(({ state }) => state)).toEqual(['closed']);
      expect(browser.media.tracks.every(({ readyState }) => readyState === 'ended')).toBe(true);
      browser.refuses = null;
      expect(await sound.open(REQUEST)).toMatchObject({ ok: true });
    },
  );

  test('stays as it is when the same is asked for again, also at the same time', async () => {
    const browser = soundIn(new FakeBrowser(true));
    const [first, second] = await Promise.all([sound.open(REQUEST), sound.open(REQUEST)]);
    expect(second).toEqual(first);
    expect(await sound.open({ ...REQUEST })).toEqual(first);
    expect(browser.contexts).toHaveLength(1);
  });

  test.each<[string, Partial<SoundRequest>]>([
    ['pace', { pace: 'quick' }],
    ['rate', { sampleRate: sampleRate(44_100) }],
    ['input', { inputId: 'in-1' }],
  ])('is closed before it is opened with another %s', async (_, other) => {
    const browser = soundIn(new FakeBrowser(true));
    await sound.open(REQUEST);
    await sound.open({ ...REQUEST, ...other });
    expect(browser.events).toEqual(['opened', 'closed', 'opened']);
    expect(browser.contexts.map(({ state }) => state)).toEqual(['closed', 'running']);
    expect(browser.workers.map(({ terminated }) => terminated)).toEqual([true, false]);
    expect(browser.media.tracks.map(({ readyState }) => readyState)).toEqual(['ended', 'live']);
    expect(why).toEqual([]);
  });

  test('tells what the output plays when, every 25 ms', async () => {
    soundIn(new FakeBrowser(true));
    await sound.open(REQUEST);
    await expect.poll(() => seen.filter(({ type }) => type === 'output-clock').length).toBeGreaterThan(2);
    expect(seen.find(({ type }) => type === 'output-clock')).toMatchObject({ heard: 48_000 });
  });

  test('says nothing more once it is closed', async () => {
    const browser = soundIn(new FakeBrowser(true));
    await sound.open(REQUEST);
    await sound.close();
    seen.length = 0;
    browser.track.end();
    browser.workers[0]?.tell({ type: 'ended' });
    expect([...why, ...seen]).toEqual([]);
  });
});

describe('an input', () => {
  const recording = (type: 'recording-started' | 'recording-ended') =>
    ({ type, audio: 1, at: 0, frames: 0, channels: 2 }) as never;

  test.each([
    ['nothing was being recorded', [], false],
    ['something was being recorded', ['recording-started'], true],
    ['all was recorded', ['recording-started', 'recording-ended'], false],
  ] as const)('that was pulled out while %s is told when it is there again', async (_, told, wasRecording) => {
    const browser = soundIn(new FakeBrowser(true));
    await sound.open(REQUEST);
    for (const type of told) browser.node.tell({ type: 'report', report: recording(type) });
    browser.track.end();
    expect(why).toEqual(['input-ended']);
    await sound.close();
    browser.plug();
    await expect.poll(() => seen.some(({ type }) => type === 'devices-changed')).toBe(true);
    browser.plug(INPUT);
    await expect.poll(() => seen.at(-1)).toEqual({ type: 'input-back', input: INPUT, recording: wasRecording });
    expect(await sound.open(REQUEST)).toMatchObject({ ok: true });
  });

  test('that stands though it was not pulled out is told when the worker gets no more of it', async () => {
    const browser = soundIn(new FakeBrowser(true));
    await sound.open(REQUEST);
    browser.workers[0]?.tell({ type: 'ended' });
    expect(why).toEqual(['input-stalled']);
  });

  test('that stands is told when nothing more has come in for two seconds of playing, once', async () => {
    const browser = soundIn(new FakeBrowser(true));
    await sound.open(REQUEST);
    browser.node.read({ rendered: 48_000, captured: 47_000 });
    browser.node.read({ rendered: 143_999, captured: 47_000 });
    expect(why).toEqual([]);
    browser.node.read({ rendered: 144_000, captured: 47_000 });
    browser.node.read({ rendered: 150_000, captured: 47_000 });
    expect(why).toEqual(['input-stalled']);
  });

  test('whose frames go on is none that stands, however late they are', async () => {
    const browser = soundIn(new FakeBrowser(true));
    await sound.open(REQUEST);
    for (let i = 1; i < 10; i++) browser.node.read({ rendered: 48_000 * i, captured: 1000 * i });
    expect(why).toEqual([]);
  });
});

test('devices can be asked for before anything is open', async () => {
  soundIn(new FakeBrowser(true));
  expect(await sound.devices()).toMatchObject({ inputs: [INPUT], outputs: [], named: true });
});

test('an audio thread that fails is an interruption', async () => {
  const browser = soundIn(new FakeBrowser(true));
  await sound.open(REQUEST);
  browser.node.onprocessorerror?.();
  browser.contexts[0]?.become('suspended');
  expect(why).toEqual(['engine-stopped', 'output-interrupted']);
});
