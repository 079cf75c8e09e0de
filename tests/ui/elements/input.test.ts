import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/input.js';
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

test('opening it says so', async () => {
  const element = await staged('mh-input', { sound: { state: 'opening' } });
  expect(textOf(byRole(element.shadowRoot!, 'status', /./))).toBe('opening the sound');
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
    expect(textOf(byRole(element.shadowRoot!, 'status', /./))).toBe(soundRefusedWords(reason));
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
      expect(textOf(byRole(element.shadowRoot!, 'status', /./))).toBe(interruptionWords(why));
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
