/**
 * The page's side of sound by itself, with the browser's fake device, at the rate that the device runs at: which way is
 * taken, what is told of it, and what happens when something is taken away.
 */
import { expect, test } from '@playwright/test';
import type { Page } from '@playwright/test';
import type { Sound, SoundInterruption, SoundObservation } from '../../src/ports/sound.js';
import { builtPath } from '../support/page/built.js';

const RATE = 44_100;

interface SoundWindow extends Window {
  sound?: Sound;
  observed?: SoundObservation[];
  interrupted?: SoundInterruption[];
  context?: AudioContext;
  track?: MediaStreamTrack;
}

/** Loads the sound that the build has, and listens to it. */
async function loadSound(page: Page): Promise<void> {
  await page.context().grantPermissions(['microphone']);
  await page.goto('/');
  const parts = { processorUrl: builtPath('processor'), counterUrl: builtPath('input-counter') };
  await page.evaluate(
    async ({ url, parts: urls }) => {
      const { AudioSound } = (await import(url)) as { AudioSound: new (of: typeof urls) => Sound };
      const here = window as SoundWindow;
      here.sound = new AudioSound(urls);
      here.observed = [];
      here.interrupted = [];
      here.sound.listen({
        report: () => undefined,
        observed: (observation) => here.observed?.push(observation),
        interrupted: (why) => here.interrupted?.push(why),
      });
      const { mediaDevices } = navigator;
      const open = mediaDevices.getUserMedia.bind(mediaDevices);
      mediaDevices.getUserMedia = async (asked) => {
        const stream = await open(asked);
        here.track = stream.getAudioTracks()[0]!;
        return stream;
      };
      window.AudioContext = class extends AudioContext {
        constructor(options?: AudioContextOptions) {
          super(options);
          here.context = this;
        }
      };
    },
    { url: builtPath('audio-sound'), parts },
  );
}

const openAt = (page: Page, sampleRate: number, pace: 'steady' | 'quick' = 'steady') =>
  page.evaluate(
    ([rate, how]) =>
      (window as SoundWindow).sound?.open({ sampleRate: rate as never, pace: how, inputId: null, outputId: null }),
    [sampleRate, pace] as const,
  );

const observed = (page: Page) => page.evaluate(() => (window as SoundWindow).observed ?? []);
const interrupted = (page: Page) => page.evaluate(() => (window as SoundWindow).interrupted ?? []);

test('the input is counted where it is captured, and both clocks are told of', async ({ page }) => {
  await loadSound(page);
  expect(await openAt(page, RATE)).toMatchObject({
    ok: true,
    value: { capture: 'track', pace: 'steady', sampleRate: RATE, inputChannels: 2 },
  });
  const clocks = async (): Promise<number> =>
    (await observed(page)).filter(({ type }) => type === 'output-clock').length;
  await expect.poll(clocks).toBeGreaterThan(20);
  const seen = await observed(page);
  expect(seen.some(({ type }) => type === 'call-phase')).toBe(true);
  expect(seen.some(({ type }) => type === 'context-lead')).toBe(true);
  expect(await interrupted(page)).toEqual([]);
});

test('an input at another rate is recorded as the audio thread gets it', async ({ page }) => {
  await loadSound(page);
  expect(await openAt(page, 48_000)).toMatchObject({ ok: true, value: { capture: 'processor' } });
});

test('another pace closes what is open, and opens it anew', async ({ page }) => {
  await loadSound(page);
  const steady = await openAt(page, RATE);
  const before = await page.evaluateHandle(() => (window as SoundWindow).context);
  expect(await openAt(page, RATE)).toEqual(steady);
  const quick = await openAt(page, RATE, 'quick');
  expect(await page.evaluate((context) => context?.state, before)).toBe('closed');
  expect(quick).toMatchObject({ ok: true, value: { pace: 'quick', capture: 'track' } });
  if (!steady?.ok || !quick?.ok) throw new Error('Got a sound that did not open when expected one that did.');
  expect(quick.value.baseLatency).toBeLessThan(steady.value.baseLatency);
  expect(await interrupted(page)).toEqual([]);
});

test('a context that is stopped from outside is told as an interruption', async ({ page }) => {
  await loadSound(page);
  await openAt(page, RATE);
  await page.evaluate(() => (window as SoundWindow).context?.suspend());
  await expect.poll(() => interrupted(page)).toEqual(['output-interrupted']);
  expect(await observed(page)).toContainEqual(expect.objectContaining({ type: 'break', kind: 'suspended' }));
});

test('devices are listed with their names once the microphone is allowed', async ({ page }) => {
  await loadSound(page);
  await openAt(page, RATE);
  const devices = await page.evaluate(() => (window as SoundWindow).sound?.devices());
  expect(devices).toMatchObject({ named: true, outputCanBeChosen: true });
  expect(devices!.inputs.length).toBeGreaterThan(0);
  expect(devices!.inputs.every(({ id, name }) => id !== '' && name !== '')).toBe(true);
  const chosen = devices!.inputs[0]!;
  const opened = await page.evaluate(
    ([rate, inputId]) =>
      (window as SoundWindow).sound?.open({ sampleRate: rate as never, pace: 'steady', inputId, outputId: null }),
    [RATE, chosen.id] as const,
  );
  expect(opened).toMatchObject({ ok: true, value: { inputId: chosen.id, inputName: chosen.name } });
});

test('an output that was chosen is the one that plays', async ({ page }) => {
  await loadSound(page);
  await openAt(page, RATE);
  const devices = await page.evaluate(() => (window as SoundWindow).sound?.devices());
  const chosen = devices?.outputs.at(-1);
  if (chosen === undefined) throw new Error('Got no output when expected the fake one.');
  const opened = await page.evaluate(
    ([rate, outputId]) =>
      (window as SoundWindow).sound?.open({ sampleRate: rate as never, pace: 'steady', inputId: null, outputId }),
    [RATE, chosen.id] as const,
  );
  expect(opened).toMatchObject({ ok: true, value: { outputId: chosen.id, outputName: chosen.name } });
});

test('an input that ends is told as one that went away', async ({ page }) => {
  await loadSound(page);
  await openAt(page, RATE);
  // The fake device cannot be pulled out: this is what a browser would say.
  await page.evaluate(() => (window as SoundWindow).track?.dispatchEvent(new Event('ended')));
  await expect.poll(() => interrupted(page)).toEqual(['input-ended']);
});

test('an input whose track is stopped brings nothing more, and that is told', async ({ page }) => {
  await loadSound(page);
  await openAt(page, RATE);
  await page.evaluate(() => {
    (window as SoundWindow).track?.stop();
  });
  await expect.poll(() => interrupted(page)).toEqual(['input-stalled']);
});

test('an output that is not there is refused, and nothing sounds on another', async ({ page }) => {
  await loadSound(page);
  const opened = await page.evaluate(
    (rate) =>
      (window as SoundWindow).sound?.open({
        sampleRate: rate as never,
        pace: 'steady',
        inputId: null,
        outputId: 'none',
      }),
    RATE,
  );
  expect(opened).toEqual({ ok: false, reason: 'no-output-device' });
  expect(await page.evaluate(() => (window as SoundWindow).context?.state)).toBe('closed');
});
