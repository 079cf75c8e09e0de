/** The inputs and outputs there are, and what changes about them. */
import type { SoundDevice, SoundDevices } from '../ports/sound.js';
import { canChooseOutput } from './context.js';

/** Names for the system's choices, not for devices of their own (Media Capture and Streams; Audio Output Devices). */
const DEFAULT_ID = 'default';
const ALIASES: readonly string[] = ['', DEFAULT_ID, 'communications'];

/** What is there, and what the system's defaults stand for. */
export interface DeviceList {
  readonly devices: SoundDevices;
  /** What identifies the default device; null where the browser does not say. */
  readonly defaultInput: string | null;
  readonly defaultOutput: string | null;
}

export async function listDevices(): Promise<DeviceList> {
  const media = navigator.mediaDevices as MediaDevices | undefined;
  const all = await (media?.enumerateDevices() ?? Promise.resolve([])).catch((): MediaDeviceInfo[] => []);
  const inputs = all.filter(({ kind }) => kind === 'audioinput');
  const outputs = all.filter(({ kind }) => kind === 'audiooutput');
  return {
    devices: {
      inputs: inputs.filter(isReal).map(described),
      outputs: outputs.filter(isReal).map(described),
      named: all.some(({ label }) => label !== ''),
      outputCanBeChosen: canChooseOutput(),
    },
    defaultInput: defaultOf(inputs),
    defaultOutput: defaultOf(outputs),
  };
}

/** @param id null for the default. @returns empty where it is not known. */
export async function outputName(id: string | null): Promise<string> {
  const { devices, defaultOutput } = await listDevices();
  return devices.outputs.find((output) => output.id === id)?.name ?? (id === null ? (defaultOutput ?? '') : '');
}

const isReal = ({ deviceId }: MediaDeviceInfo): boolean => !ALIASES.includes(deviceId);

const described = ({ deviceId, label }: MediaDeviceInfo): SoundDevice => ({ id: deviceId, name: label });

/** The group tells devices apart that are named alike; the label of the alias names the device it stands for. */
function defaultOf(devices: readonly MediaDeviceInfo[]): string | null {
  const alias = devices.find(({ deviceId }) => deviceId === DEFAULT_ID);
  if (alias === undefined) return null;
  const meant = devices.find((device) => isReal(device) && device.groupId === alias.groupId && alias.groupId !== '');
  return meant?.label ?? alias.label;
}
