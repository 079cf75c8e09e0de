import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/input.js';
import { milliseconds } from '../../../src/core/units/index.js';
import type { InputElement } from '../../../src/ui/elements/input.js';
import type { SoundChange, SoundChoice, SoundView } from '../../../src/rehearsal/snapshot.js';
import type { SoundInterruption, SoundRefusal } from '../../../src/ui/words-trouble.js';
import { changeWords, interruptionWords, soundRefusedWords } from '../../../src/ui/words-trouble.js';
import { allByRole, byRole, everything, nameOf, textOf } from '../support/roles.js';
import { asksOf, choose, keyDown, settled, staged } from '../support/stage.js';
import { DEVICES, ESTIMATE, OPEN_SOUND } from '../support/harbour-ferry.js';

const DEFAULTS: SoundChoice = { inputId: null, outputId: null, pace: 'steady' };
const read = (root: ParentNode & Node): string => textOf(root);
const inUse = (element: InputElement): HTMLElement => byRole(element.shadowRoot!, 'button', /round trip/);

test('asleep it offers to open the sound, and opens nothing by itself', async () => {
  const element = await staged('mh-input', { sound: { state: 'asleep' } });
  const asks = asksOf(element);
  expect(asks).toEqual([]);
  byRole(element.shadowRoot!, 'button', 'Open the sound').click();
  expect(asks).toEqual([{ type: 'open-sound' }]);
});

test('opening it says so, in a place that was there before', async () => {
  const element = await staged('mh-input', { sound: { state: 'asleep' } });
  const place = element.shadowRoot!.querySelector('.opening')!;
  expect([place.getAttribute('role'), textOf(place)]).toEqual(['status', '']);
  element.sound = { state: 'opening' };
  await settled(element);
  expect(element.shadowRoot!.querySelector('.opening')).toBe(place);
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
  expect(await told({ state: 'refused', reason: 'input-in-use' })).toBe(soundRefusedWords('input-in-use', DEFAULTS));
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

  test('goes on to what is open when it is', async () => {
    expect(await then(await opening(), OPEN_SOUND)).toMatch(/^Two-channel interface/);
  });

  test('goes on to another try where it was refused', async () => {
    expect(await then(await opening(), { state: 'refused', reason: 'permission-refused' })).toBe('Try again');
  });

  test('goes from what was open to opening again where the sound went away', async () => {
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
  'no-output-device': true,
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
    expect(textOf(byRole(element.shadowRoot!, 'alert', /./))).toBe(soundRefusedWords(reason, DEFAULTS));
    expect(soundRefusedWords(reason, DEFAULTS)).toMatch(/^[A-Z].+\.$/);
    expect(element.shadowRoot!.querySelector('svg.query')).not.toBeNull();
    byRole(element.shadowRoot!, 'button', 'Try again').click();
    expect(asks).toEqual([{ type: 'open-sound' }]);
  });
});

const interruptions: Readonly<Record<SoundInterruption, true>> = {
  'input-ended': true,
  'permission-withdrawn': true,
  'input-stalled': true,
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
    expect(read(element.shadowRoot!)).toContain('level good');
    expect(textOf(inUse(element))).toBe('Two-channel interface, input 1 · round trip 78 ms, an estimate');
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
    ['cable', 'measured by cable'],
    ['measured', 'measured'],
    ['estimated', 'an estimate'],
    ['stated', 'as you stated'],
  ] as const)('it says that a round trip that is %s is %s', async (how, text) => {
    const sound = { ...OPEN_SOUND, roundTrip: { ...OPEN_SOUND.roundTrip, how } };
    const element = await staged('mh-input', { sound });
    expect(read(element.shadowRoot!)).toContain(text);
  });

  test('the round trip that is watched over comes before the one it was opened with', async () => {
    const trip = { ...ESTIMATE, ms: milliseconds(84.52), how: 'measured', sure: false } as const;
    const element = await staged('mh-input', { sound: OPEN_SOUND, channel: 1, trip });
    expect(textOf(inUse(element))).toBe('Two-channel interface, input 2 · round trip 84.5 ms, measured, unsure');
  });

  test('a single channel goes without saying', async () => {
    const element = await staged('mh-input', { sound: { ...OPEN_SOUND, inputChannels: 1 } });
    expect(textOf(inUse(element))).toBe('Two-channel interface · round trip 78 ms, an estimate');
  });

  test('processing that the browser would not turn off is said', async () => {
    const sound: SoundView = { ...OPEN_SOUND, processing: ['echo cancellation'] };
    const element = await staged('mh-input', { sound });
    expect(read(element.shadowRoot!)).toContain('would not turn off echo cancellation');
  });
});

describe('its slip', () => {
  async function opened(change: Partial<InputElement> = {}): Promise<InputElement> {
    const element = await staged('mh-input', { sound: OPEN_SOUND, trip: ESTIMATE, devices: DEVICES, ...change });
    inUse(element).click();
    await settled(element);
    return element;
  }
  const dialogs = (element: InputElement): readonly HTMLElement[] => allByRole(element.shadowRoot!, 'dialog');
  const deepFocus = (): Element | null => {
    let focused = document.activeElement;
    while (focused?.shadowRoot?.activeElement) focused = focused.shadowRoot.activeElement;
    return focused;
  };

  test('is there when it is asked for, and not before', async () => {
    const element = await staged('mh-input', { sound: OPEN_SOUND });
    expect([dialogs(element).length, inUse(element).getAttribute('aria-expanded')]).toEqual([0, 'false']);
    const shown = await opened();
    expect(dialogs(shown).map((dialog) => dialog.getAttribute('aria-label'))).toEqual([
      'In and out, and the round trip',
    ]);
    expect(inUse(shown).getAttribute('aria-expanded')).toBe('true');
  });

  test('takes the focus, and gives it back on Escape', async () => {
    const element = await opened();
    expect(deepFocus()).toBe(byRole(element.shadowRoot!, 'combobox', 'You play into'));
    const event = keyDown(deepFocus()!, 'Escape');
    await settled(element);
    expect(event.defaultPrevented).toBe(true);
    expect(dialogs(element)).toEqual([]);
    expect(deepFocus()).toBe(inUse(element));
  });

  test('goes away when its button is pressed again, and when something else is', async () => {
    const element = await opened();
    inUse(element).click();
    await settled(element);
    expect(dialogs(element)).toEqual([]);
    const other = await opened();
    document.body.dispatchEvent(new Event('pointerdown', { bubbles: true, composed: true }));
    await settled(other);
    expect(dialogs(other)).toEqual([]);
  });

  test('asks for a measurement to be left where it goes away meanwhile', async () => {
    const element = await opened({ trip: { ...ESTIMATE, measuring: { state: 'sending', shot: 1, of: 3 } } });
    const asks = asksOf(element);
    keyDown(deepFocus()!, 'Escape');
    expect(asks).toEqual([{ type: 'leave-measuring' }]);
  });

  test('asks for nothing where nothing is measured', async () => {
    const element = await opened();
    const asks = asksOf(element);
    keyDown(deepFocus()!, 'Escape');
    expect(asks).toEqual([]);
  });

  test('goes with the sound', async () => {
    const element = await opened();
    element.sound = { ...OPEN_SOUND, interruption: 'input-stalled' };
    await settled(element);
    expect(dialogs(element)).toEqual([]);
    element.sound = OPEN_SOUND;
    await settled(element);
    expect(dialogs(element)).toEqual([]);
  });

  test('names everything on it that can be operated', async () => {
    const element = await opened();
    const operated = everything(element.shadowRoot!).filter((each) =>
      each.matches('button, select, input, [tabindex="0"]'),
    );
    expect(operated.length).toBeGreaterThan(8);
    expect(operated.filter((each) => nameOf(each) === '')).toEqual([]);
  });

  test('asks what is asked on it', async () => {
    const element = await opened();
    const asks = asksOf(element);
    byRole(element.shadowRoot!, 'button', 'Measure').click();
    expect(asks).toEqual([{ type: 'measure', way: 'cable', level: -36 }]);
  });
});

describe('a device that was chosen and is not there', () => {
  const INPUT_GONE: Partial<InputElement> = {
    sound: { state: 'refused', reason: 'no-input-device' },
    choice: { ...DEFAULTS, inputId: 'unplugged' },
    devices: DEVICES,
  };
  const OUTPUT_GONE: Partial<InputElement> = {
    sound: { state: 'refused', reason: 'no-output-device' },
    choice: { ...DEFAULTS, outputId: 'unplugged' },
    devices: DEVICES,
  };
  const said = (element: InputElement): string => textOf(byRole(element.shadowRoot!, 'alert', /./));
  const offers = (element: InputElement): readonly string[] => allByRole(element.shadowRoot!, 'button').map(nameOf);

  test.each([
    ['input', INPUT_GONE, /^The input you chose is not there\./, 'use-input'],
    ['output', OUTPUT_GONE, /^The output you chose is not there/, 'use-output'],
  ] as const)('is said to be the one: %s; and the system’s default opens instead', async (_, gone, words, ask) => {
    const element = await staged('mh-input', gone);
    expect(said(element)).toMatch(words);
    const asks = asksOf(element);
    byRole(element.shadowRoot!, 'button', 'Use the system’s default').click();
    expect(asks).toEqual([{ type: ask, id: null }, { type: 'open-sound' }]);
  });

  test.each([
    ['no-input-device', { ...DEFAULTS, outputId: 'unplugged' }],
    ['input-in-use', { ...DEFAULTS, inputId: 'unplugged' }],
  ] as const)('is not blamed for %s with %o', async (reason, choice) => {
    const element = await staged('mh-input', { sound: { state: 'refused', reason }, choice });
    expect(said(element)).toBe(soundRefusedWords(reason, DEFAULTS));
    expect(offers(element)).toEqual(['Try again', 'In and out']);
  });

  test('is not spoken of any more once another is chosen', async () => {
    const element = await staged('mh-input', OUTPUT_GONE);
    element.choice = { ...DEFAULTS, outputId: 'interface-out' };
    await settled(element);
    expect(said(element)).toBe('That is what will be used now: try again.');
    expect(offers(element)).toEqual(['Try again', 'In and out']);
    element.sound = { state: 'opening' };
    await settled(element);
    element.sound = { state: 'refused', reason: 'no-output-device' };
    await settled(element);
    expect(said(element)).toMatch(/^The output you chose is not there/);
  });

  const withoutSound: readonly (readonly [string, SoundView])[] = [
    ['refused', { state: 'refused', reason: 'no-input-device' }],
    ['interrupted', { ...OPEN_SOUND, interruption: 'input-ended' }],
  ];

  test.each(withoutSound)('can be replaced on the slip while the sound is %s', async (_, sound) => {
    const element = await staged('mh-input', { ...INPUT_GONE, sound });
    byRole(element.shadowRoot!, 'button', 'In and out').click();
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog').map((dialog) => dialog.getAttribute('aria-label'))).toEqual([
      'In and out',
    ]);
    const select = byRole(element.shadowRoot!, 'combobox', 'You play into') as HTMLSelectElement;
    expect([...select.options].map(textOf)).toEqual([
      'the system’s default',
      'Two-channel interface',
      'Built-in microphone',
      'one that is not there now',
    ]);
    const asks = asksOf(element);
    choose(select, 'built-in');
    expect(asks).toEqual([{ type: 'use-input', id: 'built-in' }]);
    expect(allByRole(element.shadowRoot!, 'button').map(nameOf)).not.toContain('Measure');
  });

  test.each(withoutSound)('the slip stays while devices are chosen on it, %s', async (_, sound) => {
    const element = await staged('mh-input', { ...INPUT_GONE, sound });
    byRole(element.shadowRoot!, 'button', 'In and out').click();
    await settled(element);
    element.choice = { ...DEFAULTS, inputId: 'built-in' };
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toHaveLength(1);
    keyDown(byRole(element.shadowRoot!, 'combobox', 'You play into'), 'Escape');
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
    expect(nameOf(element.shadowRoot!.activeElement!)).toBe('In and out');
  });

  test('where nothing is known of what there is, the default can be gone back to', async () => {
    const element = await staged('mh-input', { ...INPUT_GONE, devices: null });
    byRole(element.shadowRoot!, 'button', 'In and out').click();
    await settled(element);
    const select = byRole(element.shadowRoot!, 'combobox', 'You play into') as HTMLSelectElement;
    expect([...select.options].map(textOf)).toEqual(['the system’s default', 'the one you chose']);
    const asks = asksOf(element);
    choose(select, '');
    expect(asks).toEqual([{ type: 'use-input', id: null }]);
  });

  test.each(['not-secure', 'no-worklets', 'engine-failed'] as const)(
    'no device is offered where none would help: %s',
    async (reason) => {
      expect(offers(await staged('mh-input', { sound: { state: 'refused', reason } }))).toEqual(['Try again']);
    },
  );
});

describe('what changes round the sound', () => {
  test.each<readonly [SoundChange, string]>([
    [{ type: 'devices-changed', devices: DEVICES }, 'Something was plugged in'],
    [{ type: 'default-changed', of: 'input' }, 'usual input is another one'],
    [{ type: 'input-back', input: DEVICES.inputs[0]!, recording: true }, 'Two-channel interface is back'],
    [{ type: 'input-muted', muted: true }, 'The system has silenced the input'],
    [{ type: 'page-shown', shown: false }, 'Everything goes on'],
    [{ type: 'permission-changed', granted: false }, 'may not hear you'],
  ])('is said, in a place that was there before: %o', async (change, words) => {
    const element = await staged('mh-input', { sound: OPEN_SOUND });
    const place = element.shadowRoot!.querySelector('.change')!;
    expect([place.getAttribute('role'), textOf(place)]).toEqual(['status', '']);
    element.change = change;
    await settled(element);
    expect(element.shadowRoot!.querySelector('.change')).toBe(place);
    expect(textOf(place)).toContain(words);
    element.change = null;
    await settled(element);
    expect(textOf(place)).toBe('');
  });
});

describe('the words for what changes', () => {
  test('a page that is seen again needs no word', () => {
    expect(changeWords({ type: 'page-shown', shown: true })).toBe('');
  });

  test('an input that is back is named, and what was being recorded is said to be kept', () => {
    const input = DEVICES.inputs[0]!;
    expect(changeWords({ type: 'input-back', input, recording: true })).toBe(
      'Two-channel interface is back: open the sound again. What you had played until then is kept.',
    );
    expect(changeWords({ type: 'input-back', input: { id: '', name: '' }, recording: false })).toBe(
      'The input is back: open the sound again.',
    );
  });
});
