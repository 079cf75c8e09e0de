/** Ids and labels: Media Capture and Streams (W3C), enumerateDevices; `default` and `communications` are choices. */
import { describe, expect, test, vi } from 'vitest';
import { listDevices, outputName } from '../../src/sound/devices.js';

const device = (kind: MediaDeviceKind, deviceId: string, label: string, groupId = deviceId) => ({
  kind,
  deviceId,
  label,
  groupId,
});

function browser(devices: readonly object[], sink = true): void {
  vi.stubGlobal('navigator', { mediaDevices: { enumerateDevices: () => Promise.resolve(devices) } });
  const prototype = sink ? { setSinkId: () => Promise.resolve() } : {};
  vi.stubGlobal('AudioContext', { prototype });
}

const ALLOWED = [
  device('audioinput', 'default', 'Default – Interface', 'g1'),
  device('audioinput', 'in-1', 'Interface', 'g1'),
  device('audioinput', 'in-2', 'Built-in', 'g2'),
  device('videoinput', 'cam', 'Camera'),
  device('audiooutput', 'default', 'Default – Speakers', 'g2'),
  device('audiooutput', 'communications', 'Communications – Speakers', 'g2'),
  device('audiooutput', 'out-1', 'Interface out', 'g1'),
  device('audiooutput', 'out-2', 'Speakers', 'g2'),
];

describe('the devices', () => {
  test('are the inputs and outputs of sound, without the names that stand for a choice', async () => {
    browser(ALLOWED);
    expect(await listDevices()).toEqual({
      devices: {
        inputs: [
          { id: 'in-1', name: 'Interface' },
          { id: 'in-2', name: 'Built-in' },
        ],
        outputs: [
          { id: 'out-1', name: 'Interface out' },
          { id: 'out-2', name: 'Speakers' },
        ],
        named: true,
        outputCanBeChosen: true,
      },
      defaultInput: 'Interface',
      defaultOutput: 'Speakers',
    });
  });

  test('have no names and no ids until the input is allowed, and that is said', async () => {
    browser([device('audioinput', '', ''), device('audiooutput', '', '')]);
    const { devices, defaultInput } = await listDevices();
    expect(devices).toMatchObject({ inputs: [], outputs: [], named: false });
    expect(defaultInput).toBeNull();
  });

  test('let no output be chosen where the browser cannot', async () => {
    browser(ALLOWED, false);
    expect((await listDevices()).devices.outputCanBeChosen).toBe(false);
  });

  test('are none in a browser without any, or that will not say', async () => {
    vi.stubGlobal('navigator', {});
    expect((await listDevices()).devices.inputs).toEqual([]);
    vi.stubGlobal('navigator', { mediaDevices: { enumerateDevices: () => Promise.reject(new Error()) } });
    expect((await listDevices()).devices.outputs).toEqual([]);
  });

  test.each([
    ['out-1', 'Interface out'],
    [null, 'Speakers'],
    ['gone', ''],
  ])('name the output %s: %j', async (id, name) => {
    browser(ALLOWED);
    expect(await outputName(id)).toBe(name);
  });
});
