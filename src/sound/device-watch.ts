/** Tells what is plugged in and pulled out, another default device, and an input that was lost and is there again. */
import type { SoundDevice, SoundDevices, SoundObservation } from '../ports/sound.js';
import type { DeviceList } from './devices.js';

interface LostInput {
  readonly input: SoundDevice;
  readonly recording: boolean;
}

export class DeviceWatch {
  readonly #list: () => Promise<DeviceList>;
  readonly #observed: (observation: SoundObservation) => void;
  #last: DeviceList | null = null;
  #lost: LostInput | null = null;

  constructor(list: () => Promise<DeviceList>, observed: (observation: SoundObservation) => void) {
    this.#list = list;
    this.#observed = observed;
  }

  /** What is there now: changes are told from here on. */
  async begin(): Promise<void> {
    this.#last ??= await this.#list();
  }

  /** The input that was open has gone. It is known again by its id, or by its name where that is new. */
  lost(input: SoundDevice, recording: boolean): void {
    this.#lost = { input, recording };
  }

  /** Something is open: nothing is waited for. */
  found(): void {
    this.#lost = null;
  }

  /** The browser says that something has changed. */
  async changed(): Promise<void> {
    const before = this.#last;
    const now = await this.#list();
    this.#last = now;
    if (before === null) return;
    if (!sameDevices(before.devices, now.devices)) {
      this.#observed({ type: 'devices-changed', devices: now.devices });
    }
    if (movedOn(before.defaultInput, now.defaultInput)) this.#observed({ type: 'default-changed', of: 'input' });
    if (movedOn(before.defaultOutput, now.defaultOutput)) this.#observed({ type: 'default-changed', of: 'output' });
    this.#lookForLost(before.devices.inputs, now.devices.inputs);
  }

  #lookForLost(before: readonly SoundDevice[], now: readonly SoundDevice[]): void {
    const lost = this.#lost;
    if (lost === null) return;
    const isIt = ({ id, name }: SoundDevice): boolean =>
      id === lost.input.id || (name !== '' && name === lost.input.name);
    const back = now.find(isIt);
    // Tracks may end before the list says that the device is gone.
    if (back === undefined || before.some(isIt)) return;
    this.#lost = null;
    this.#observed({ type: 'input-back', input: back, recording: lost.recording });
  }
}

const movedOn = (before: string | null, now: string | null): boolean =>
  before !== null && now !== null && before !== now;

function sameDevices(a: SoundDevices, b: SoundDevices): boolean {
  const names = ({ inputs, outputs }: SoundDevices): string => JSON.stringify([inputs, outputs]);
  return names(a) === names(b);
}
