/** Events: MediaStreamTrack (ended, mute), BaseAudioContext (statechange), Page Visibility, Permissions (W3C). */
import { beforeEach, describe, expect, test, vi } from 'vitest';
import { frames } from '../../src/core/units/index.js';
import type { SoundInterruption, SoundObservation } from '../../src/ports/sound.js';
import { Disturbances } from '../../src/sound/disturbances.js';

class FakeContext extends EventTarget {
  state = 'running';

  become(state: string): void {
    this.state = state;
    this.dispatchEvent(new Event('statechange'));
  }
}

class FakePage extends EventTarget {
  visibilityState = 'visible';

  show(state: 'visible' | 'hidden'): void {
    this.visibilityState = state;
    this.dispatchEvent(new Event('visibilitychange'));
  }
}

class FakePermission extends EventTarget {
  state = 'granted';

  become(state: string): void {
    this.state = state;
    this.dispatchEvent(new Event('change'));
  }
}

let context: FakeContext;
let track: EventTarget;
let page: FakePage;
let permission: FakePermission;
let why: SoundInterruption[];
let seen: SoundObservation[];
let disturbances: Disturbances;

const AT = 4711;
const broken = (kind: string) => ({ type: 'break', kind, at: AT });

beforeEach(async () => {
  context = new FakeContext();
  track = new EventTarget();
  page = new FakePage();
  permission = new FakePermission();
  why = [];
  seen = [];
  vi.stubGlobal('document', page);
  vi.stubGlobal('navigator', { permissions: { query: () => Promise.resolve(permission) } });
  disturbances = new Disturbances({
    context: context as unknown as AudioContext,
    track: track as MediaStreamTrack,
    captured: () => frames(AT),
    interrupted: (reason) => why.push(reason),
    observed: (observation) => seen.push(observation),
  });
  await Promise.resolve();
  await Promise.resolve();
});

describe('an open sound', () => {
  test('is interrupted when its input is unplugged', () => {
    track.dispatchEvent(new Event('ended'));
    expect(why).toEqual(['input-ended']);
  });

  test.each(['denied', 'prompt'])('is interrupted when the microphone is not allowed any more: %s', (state) => {
    permission.become(state);
    expect(seen).toEqual([{ type: 'permission-changed', granted: false }]);
    expect(why).toEqual([]);
    track.dispatchEvent(new Event('ended'));
    expect(why).toEqual(['permission-withdrawn']);
  });

  test('goes on while its input is muted by the system, and says so', () => {
    track.dispatchEvent(new Event('mute'));
    track.dispatchEvent(new Event('unmute'));
    expect(seen).toEqual([
      { type: 'input-muted', muted: true },
      { type: 'input-muted', muted: false },
    ]);
    expect(why).toEqual([]);
  });

  test.each(['suspended', 'interrupted', 'closed'])('is interrupted when its context is %s', (state) => {
    context.become(state);
    expect(why).toEqual(['output-interrupted']);
    expect(seen).toEqual([broken('suspended')]);
  });

  test('says when its context runs again, after which nothing is known of the round trip', () => {
    context.become('suspended');
    context.become('running');
    expect(seen).toEqual([broken('suspended'), broken('resumed')]);
  });

  test('goes on in a tab that is not seen, and says so', () => {
    page.show('hidden');
    page.show('visible');
    expect(seen).toEqual([{ type: 'page-shown', shown: false }, broken('hidden'), { type: 'page-shown', shown: true }]);
    expect(why).toEqual([]);
  });

  test('says when the clocks part', () => {
    vi.spyOn(performance, 'now').mockReturnValueOnce(0).mockReturnValueOnce(20);
    vi.spyOn(Date, 'now').mockReturnValueOnce(0).mockReturnValueOnce(600_000);
    disturbances.readClocks();
    disturbances.readClocks();
    expect(seen).toEqual([broken('clock-jumped')]);
  });

  test('says nothing any more once it is closed', () => {
    disturbances.stop();
    track.dispatchEvent(new Event('ended'));
    context.become('closed');
    page.show('hidden');
    permission.become('denied');
    expect([...why, ...seen]).toEqual([]);
  });
});

test.each<[string, unknown]>([
  ['has no permissions to ask for', {}],
  ['does not know the microphone by that name', { permissions: { query: () => Promise.reject(new TypeError()) } }],
])('in a browser that %s an input that ends was unplugged', async (_, browser) => {
  vi.stubGlobal('navigator', browser);
  const other = new EventTarget();
  const told: SoundInterruption[] = [];
  new Disturbances({
    context: context as unknown as AudioContext,
    track: other as MediaStreamTrack,
    captured: () => frames(0),
    interrupted: (reason) => told.push(reason),
    observed: () => undefined,
  });
  await Promise.resolve();
  other.dispatchEvent(new Event('ended'));
  expect(told).toEqual(['input-ended']);
});
