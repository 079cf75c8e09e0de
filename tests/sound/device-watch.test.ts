import { beforeEach, describe, expect, test } from 'vitest';
import type { SoundDevice, SoundObservation } from '../../src/ports/sound.js';
import { DeviceWatch } from '../../src/sound/device-watch.js';
import type { DeviceList } from '../../src/sound/devices.js';

const INTERFACE: SoundDevice = { id: 'a', name: 'Two-channel interface' };
const BUILT_IN: SoundDevice = { id: 'b', name: 'Built-in microphone' };
const SPEAKERS: SoundDevice = { id: 'c', name: 'Speakers' };

const listOf = (inputs: readonly SoundDevice[], more: Partial<DeviceList> = {}): DeviceList => ({
  devices: { inputs, outputs: [SPEAKERS], named: true, outputCanBeChosen: true },
  defaultInput: null,
  defaultOutput: null,
  ...more,
});

let there: DeviceList;
let seen: SoundObservation[];
let watch: DeviceWatch;

beforeEach(async () => {
  there = listOf([INTERFACE, BUILT_IN]);
  seen = [];
  watch = new DeviceWatch(
    () => Promise.resolve(there),
    (observation) => seen.push(observation),
  );
  await watch.begin();
});

async function becomes(list: DeviceList): Promise<readonly SoundObservation[]> {
  seen.length = 0;
  there = list;
  await watch.changed();
  return [...seen];
}

describe('devices', () => {
  test('that come and go are told, as a whole list', async () => {
    const fewer = listOf([BUILT_IN]);
    expect(await becomes(fewer)).toEqual([{ type: 'devices-changed', devices: fewer.devices }]);
    const more = listOf([BUILT_IN, INTERFACE]);
    expect(await becomes(more)).toEqual([{ type: 'devices-changed', devices: more.devices }]);
  });

  test('that stay as they were are not, though the browser says that something changed', async () => {
    expect(await becomes(listOf([INTERFACE, BUILT_IN]))).toEqual([]);
  });

  test('are not told before anybody has asked for them', async () => {
    const early = new DeviceWatch(
      () => Promise.resolve(there),
      (observation) => seen.push(observation),
    );
    await early.changed();
    expect(seen).toEqual([]);
  });

  test.each(['input', 'output'] as const)('tell when another is the default %s', async (of) => {
    const named = (name: string) => (of === 'input' ? { defaultInput: name } : { defaultOutput: name });
    expect(await becomes(listOf([INTERFACE, BUILT_IN], named('One')))).toEqual([]);
    expect(await becomes(listOf([INTERFACE, BUILT_IN], named('Two')))).toEqual([{ type: 'default-changed', of }]);
  });
});

describe('an input that was lost', () => {
  const back = (input: SoundDevice, recording: boolean) => ({ type: 'input-back', input, recording });

  test.each([true, false])('and is there again is told, with whether it was being recorded: %s', async (recording) => {
    watch.lost(INTERFACE, recording);
    expect(await becomes(listOf([BUILT_IN]))).not.toContainEqual(back(INTERFACE, recording));
    expect(await becomes(listOf([BUILT_IN, INTERFACE]))).toContainEqual(back(INTERFACE, recording));
  });

  test('is known by its name where its id is new', async () => {
    watch.lost(INTERFACE, false);
    await becomes(listOf([BUILT_IN]));
    const again = { id: 'new', name: INTERFACE.name };
    expect(await becomes(listOf([BUILT_IN, again]))).toContainEqual(back(again, false));
  });

  test('is not taken for another, nor for one that has no name either', async () => {
    watch.lost({ id: 'a', name: '' }, false);
    await becomes(listOf([]));
    const told = await becomes(listOf([{ id: 'z', name: '' }]));
    expect(told.map(({ type }) => type)).toEqual(['devices-changed']);
  });

  test('is not back while the list still has it from before', async () => {
    watch.lost(INTERFACE, false);
    const told = await becomes(listOf([INTERFACE, BUILT_IN], { defaultInput: 'x' }));
    expect(told).toEqual([]);
  });

  test('is not waited for once something is open again', async () => {
    watch.lost(INTERFACE, false);
    await becomes(listOf([BUILT_IN]));
    watch.found();
    const told = await becomes(listOf([BUILT_IN, INTERFACE]));
    expect(told.map(({ type }) => type)).toEqual(['devices-changed']);
  });

  test('is told once', async () => {
    watch.lost(INTERFACE, false);
    await becomes(listOf([BUILT_IN]));
    await becomes(listOf([INTERFACE, BUILT_IN]));
    await becomes(listOf([BUILT_IN]));
    const told = await becomes(listOf([INTERFACE, BUILT_IN]));
    expect(told.map(({ type }) => type)).toEqual(['devices-changed']);
  });
});
