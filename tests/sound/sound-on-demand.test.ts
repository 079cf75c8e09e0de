import { expect, test, vi } from 'vitest';
import { sampleRate } from '../../src/core/units/index.js';
import type { SoundRequest } from '../../src/ports/sound.js';
import { SoundOnDemand } from '../../src/sound/sound-on-demand.js';
import { EngineSound } from '../support/engine-sound.js';

const REQUEST: SoundRequest = { sampleRate: sampleRate(48_000), pace: 'steady', inputId: null, outputId: null };
const LISTENER = { report: () => undefined, interrupted: () => undefined, observed: () => undefined };

test('sound is loaded once, however many ask for it at a time', async () => {
  const load = vi.fn(() => Promise.resolve(new EngineSound()));
  const sound = new SoundOnDemand(load);
  const [devices, opened] = await Promise.all([sound.devices(), sound.open(REQUEST)]);
  expect(devices.inputs).toHaveLength(1);
  expect(opened.ok).toBe(true);
  expect(load).toHaveBeenCalledOnce();
});

test('sound that could not be loaded is tried again', async () => {
  let fails = true;
  const sound = new SoundOnDemand(() => (fails ? Promise.reject(new Error()) : Promise.resolve(new EngineSound())));
  expect(await sound.open(REQUEST)).toEqual({ ok: false, reason: 'engine-failed' });
  expect(await sound.devices()).toMatchObject({ inputs: [], named: false });
  fails = false;
  expect(await sound.open(REQUEST)).toMatchObject({ ok: true });
});

test('who listened before it was loaded is told', async () => {
  const engine = new EngineSound();
  const sound = new SoundOnDemand(() => Promise.resolve(engine));
  const interrupted = vi.fn();
  sound.listen({ ...LISTENER, interrupted });
  await sound.open(REQUEST);
  engine.interrupt('input-ended');
  expect(interrupted).toHaveBeenCalledWith('input-ended');
});
