import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/input.js';
import type { InputElement } from '../../../src/ui/elements/input.js';
import type { SoundView } from '../../../src/rehearsal/snapshot.js';
import type { SoundInterruption, SoundRefusal } from '../../../src/ui/words.js';
import { interruptionWords, soundRefusedWords } from '../../../src/ui/words.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, keyDown, settled, staged, type } from '../support/stage.js';
import { OPEN_SOUND } from '../support/harbour-ferry.js';

const read = (root: ParentNode & Node): string => textOf(root);

test('asleep it offers to open the sound, and opens nothing by itself', async () => {
  const element = await staged('mh-input', { sound: { state: 'asleep' } });
  const asks = asksOf(element);
  expect(asks).toEqual([]);
  byRole(element.shadowRoot!, 'button', 'Open the sound').click();
  expect(asks).toEqual([{ type: 'open-sound' }]);
});

test('opening it says so, in a place that was there before', async () => {
  const element = await staged('mh-input', { sound: { state: 'asleep' } });
  const place = byRole(element.shadowRoot!, 'status', '');
  element.sound = { state: 'opening' };
  await settled(element);
  expect(byRole(element.shadowRoot!, 'status', /./)).toBe(place);
  expect(textOf(place)).toBe('opening the sound');
});

test('what is amiss is read out at once, in a place that was there before', async () => {
  const element = await staged('mh-input', { sound: { state: 'asleep' } });
  const place = byRole(element.shadowRoot!, 'alert', '');
  const told = async (sound: SoundView): Promise<string> => {
    element.sound = sound;
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'alert')).toEqual([place]);
    return textOf(place);
  };
  expect(await told({ state: 'refused', reason: 'input-in-use' })).toBe(soundRefusedWords('input-in-use'));
  expect(await told(OPEN_SOUND)).toBe('');
  expect(await told({ ...OPEN_SOUND, interruption: 'input-ended' })).toBe(interruptionWords('input-ended'));
  expect(await told({ ...OPEN_SOUND, processing: ['gain control'] })).toContain('automatic gain');
});

describe('the focus', () => {
  async function opening(): Promise<InputElement> {
    const element = await staged('mh-input', { sound: { state: 'asleep' } });
    byRole(element.shadowRoot!, 'button', 'Open the sound').focus();
    element.sound = { state: 'opening' };
    await settled(element);
    return element;
  }
  const then = async (element: InputElement, sound: SoundView): Promise<string> => {
    element.sound = sound;
    await settled(element);
    const focused = element.shadowRoot!.activeElement;
    return focused === null ? 'nowhere' : textOf(focused);
  };

  test('of the button that opens the sound rests where that is said', async () => {
    expect((await opening()).shadowRoot!.activeElement?.getAttribute('role')).toBe('status');
  });

  test('goes on to the round trip when the sound is open', async () => {
    const element = await opening();
    expect(await then(element, OPEN_SOUND)).toBe('78 ms');
    const figure = element.shadowRoot!.querySelector('mh-figure')!;
    expect(figure.shadowRoot!.activeElement?.getAttribute('role')).toBe('spinbutton');
  });

  test('goes on to another try where it was refused', async () => {
    expect(await then(await opening(), { state: 'refused', reason: 'permission-refused' })).toBe('Try again');
  });

  test('goes from the round trip to opening again where the sound went away', async () => {
    const element = await opening();
    await then(element, OPEN_SOUND);
    expect(await then(element, { ...OPEN_SOUND, interruption: 'input-ended' })).toBe('Open it again');
  });

  test('is not taken from elsewhere', async () => {
    const element = await staged('mh-input', { sound: { state: 'asleep' } });
    expect(await then(element, { state: 'opening' })).toBe('nowhere');
    expect(await then(element, OPEN_SOUND)).toBe('nowhere');
  });
});

const refusals: Readonly<Record<SoundRefusal, true>> = {
  'permission-refused': true,
  'no-input-device': true,
  'input-in-use': true,
  'no-worklets': true,
  'no-audio': true,
  'rate-refused': true,
  'not-secure': true,
  'engine-failed': true,
};

describe('refused', () => {
  test.each(Object.keys(refusals) as SoundRefusal[])('it says why and offers another try: %s', async (reason) => {
    const element = await staged('mh-input', { sound: { state: 'refused', reason } });
    const asks = asksOf(element);
    expect(textOf(byRole(element.shadowRoot!, 'alert', /./))).toBe(soundRefusedWords(reason));
    expect(soundRefusedWords(reason)).toMatch(/^[A-Z].+\.$/);
    expect(element.shadowRoot!.querySelector('svg.query')).not.toBeNull();
    byRole(element.shadowRoot!, 'button', 'Try again').click();
    expect(asks).toEqual([{ type: 'open-sound' }]);
  });
});

const interruptions: Readonly<Record<SoundInterruption, true>> = {
  'input-ended': true,
  'output-interrupted': true,
  'engine-stopped': true,
};

describe('interrupted', () => {
  test.each(Object.keys(interruptions) as SoundInterruption[])(
    'it says why and offers to open again: %s',
    async (why) => {
      const element = await staged('mh-input', { sound: { ...OPEN_SOUND, interruption: why } });
      expect(textOf(byRole(element.shadowRoot!, 'alert', /./))).toBe(interruptionWords(why));
      const asks = asksOf(element);
      byRole(element.shadowRoot!, 'button', 'Open it again').click();
      expect(asks).toEqual([{ type: 'open-sound' }]);
    },
  );
});

describe('open', () => {
  test('it says which input, how loud, and how long the round trip is and how that is known', async () => {
    const element = await staged('mh-input', { sound: OPEN_SOUND, level: 'good' });
    const text = read(element.shadowRoot!);
    expect(text).toContain('Two-channel interface');
    expect(text).toContain('level good');
    expect(text).toMatch(/round trip 78 ms ?, an estimate/);
  });

  test('an input to which the browser gives no name is the default one', async () => {
    const element = await staged('mh-input', { sound: { ...OPEN_SOUND, inputName: '' } });
    expect(read(element.shadowRoot!)).toContain('the default input');
  });

  test.each([
    ['silent', 'nothing heard'],
    ['low', 'too low'],
    ['good', 'good'],
    ['clipping', 'clipping: turn it down'],
  ] as const)('it says a level that is %s as "%s"', async (level, text) => {
    const element = await staged('mh-input', { sound: OPEN_SOUND, level });
    expect(read(element.shadowRoot!)).toContain(`level ${text}`);
  });

  test.each([
    ['cable', 'measured at every bar by cable'],
    ['measured', 'measured'],
    ['estimated', 'an estimate'],
    ['stated', 'as you stated'],
  ] as const)('it says that a round trip that is %s is %s', async (how, text) => {
    const sound = { ...OPEN_SOUND, roundTrip: { ...OPEN_SOUND.roundTrip, how } };
    const element = await staged('mh-input', { sound });
    expect(read(element.shadowRoot!)).toContain(text);
  });

  test('one of its channels is in use, and another can be', async () => {
    const element = await staged('mh-input', { sound: OPEN_SOUND, channel: 0 });
    const asks = asksOf(element);
    const pressed = ['1', '2'].map((name) => byRole(element.shadowRoot!, 'button', name).getAttribute('aria-pressed'));
    expect(pressed).toEqual(['true', 'false']);
    byRole(element.shadowRoot!, 'button', '2').click();
    expect(asks).toEqual([{ type: 'use-channel', channel: 1 }]);
  });

  test('a single channel is not offered as a choice', async () => {
    const sound: SoundView = { ...OPEN_SOUND, inputChannels: 1 };
    const element = await staged('mh-input', { sound });
    expect(allByRole(element.shadowRoot!, 'button')).toEqual([]);
  });

  test.each([
    ['75,5', 75.5],
    ['0', 0],
    ['', null],
  ])('a round trip written as "%s" asks for %s', async (text, ms) => {
    const element = await staged('mh-input', { sound: OPEN_SOUND });
    const asks = asksOf(element);
    keyDown(byRole(element.shadowRoot!, 'spinbutton', 'round trip'), 'Enter');
    await settled(element);
    const field = byRole(element.shadowRoot!, 'textbox', 'round trip');
    type(field, text);
    keyDown(field, 'Enter');
    expect(asks).toEqual([{ type: 'state-round-trip', ms }]);
  });

  test('processing that the browser would not turn off is said', async () => {
    const sound: SoundView = { ...OPEN_SOUND, processing: ['echo cancellation'] };
    const element = await staged('mh-input', { sound });
    expect(read(element.shadowRoot!)).toContain('would not turn off echo cancellation');
  });
});
