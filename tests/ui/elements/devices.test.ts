import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/devices.js';
import type { DevicesElement } from '../../../src/ui/elements/devices.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, choose, settled, staged } from '../support/stage.js';
import { DEVICES, OPEN_SOUND } from '../support/harbour-ferry.js';

const devices = (change: Partial<DevicesElement> = {}): Promise<DevicesElement> =>
  staged('mh-devices', {
    sound: OPEN_SOUND,
    devices: DEVICES,
    choice: { inputId: 'built-in', outputId: null, pace: 'steady' },
    ...change,
  });
const select = (element: DevicesElement, name: string): HTMLSelectElement =>
  byRole(element.shadowRoot!, 'combobox', name) as HTMLSelectElement;
const optionsOf = (element: HTMLSelectElement): readonly string[] => [...element.options].map(textOf);
const radio = (element: DevicesElement, name: string): HTMLInputElement =>
  byRole(element.shadowRoot!, 'radio', name) as HTMLInputElement;

describe('input and output', () => {
  test('are chosen from what there is, the system’s default first', async () => {
    const element = await devices();
    expect(optionsOf(select(element, 'You play into'))).toEqual([
      'the system’s default',
      'Two-channel interface',
      'Built-in microphone',
    ]);
    expect(optionsOf(select(element, 'You hear from'))).toEqual(['the system’s default', 'Two-channel interface']);
  });

  test('show what is in use', async () => {
    const element = await devices();
    expect([select(element, 'You play into').value, select(element, 'You hear from').value]).toEqual(['built-in', '']);
  });

  test.each([
    ['You play into', 'interface-in', { type: 'use-input', id: 'interface-in' }],
    ['You play into', '', { type: 'use-input', id: null }],
    ['You hear from', 'interface-out', { type: 'use-output', id: 'interface-out' }],
  ] as const)('%s, chosen as "%s", asks for it', async (name, id, ask) => {
    const element = await devices();
    const asks = asksOf(element);
    choose(select(element, name), id);
    expect(asks).toEqual([ask]);
  });

  test('show what holds where a wish was refused', async () => {
    const element = await devices();
    choose(select(element, 'You play into'), 'interface-in');
    await settled(element);
    expect(select(element, 'You play into').value).toBe('built-in');
  });

  test('that are not there any more are said to be gone', async () => {
    const element = await devices({ choice: { inputId: 'unplugged', outputId: null, pace: 'steady' } });
    expect(optionsOf(select(element, 'You play into')).at(-1)).toBe('one that is not there now');
    expect(select(element, 'You play into').value).toBe('unplugged');
  });

  test('without names are counted, and it is said why', async () => {
    const unnamed = { ...DEVICES, named: false, inputs: [{ id: 'x', name: '' }] };
    const element = await devices({ devices: unnamed });
    expect(optionsOf(select(element, 'You play into'))).toContain('input 1, unnamed');
    expect(textOf(element)).toContain('Nothing is named yet: this page has no permission to hear you.');
    expect(textOf(await devices())).not.toContain('permission');
  });

  test('an output that the browser can’t choose is said in words', async () => {
    const element = await devices({ devices: { ...DEVICES, outputCanBeChosen: false } });
    expect(allByRole(element.shadowRoot!, 'combobox')).toHaveLength(1);
    expect(textOf(element)).toContain('This browser plays where the system plays.');
  });

  test('are said to be looked up until they are known', async () => {
    const element = await devices({ devices: null });
    expect(allByRole(element.shadowRoot!, 'combobox')).toEqual([]);
    expect(textOf(element)).toContain('being looked up');
  });
});

describe('the channels of the input', () => {
  test('one is in use, and another can be', async () => {
    const element = await devices({ channel: 0 });
    const asks = asksOf(element);
    const pressed = ['1', '2'].map((name) => byRole(element.shadowRoot!, 'button', name).getAttribute('aria-pressed'));
    expect(pressed).toEqual(['true', 'false']);
    byRole(element.shadowRoot!, 'button', '2').click();
    expect(asks).toEqual([{ type: 'use-channel', channel: 1 }]);
  });

  test('the one that a reference comes back on can’t be', async () => {
    const element = await devices({ channel: 0, spare: 1 });
    const asks = asksOf(element);
    const spare = byRole(element.shadowRoot!, 'button', '2');
    expect(spare.getAttribute('aria-disabled')).toBe('true');
    spare.click();
    expect(asks).toEqual([]);
  });

  test('a single one is not offered as a choice', async () => {
    const element = await devices({ sound: { ...OPEN_SOUND, inputChannels: 1 } });
    expect(allByRole(element.shadowRoot!, 'button')).toEqual([]);
  });
});

describe('the pace', () => {
  test('each says what it costs', async () => {
    const element = await devices();
    const costs = ['steady', 'quick'].map((name) => {
      const described = radio(element, name).getAttribute('aria-describedby');
      return textOf(element.shadowRoot!.getElementById(described ?? '')!);
    });
    expect(costs[0]).toContain('about 0.3 s later');
    expect(costs[1]).toContain('closing loops of open length by foot');
  });

  test('one is in use, and another is asked for', async () => {
    const element = await devices();
    const asks = asksOf(element);
    expect([radio(element, 'steady').checked, radio(element, 'quick').checked]).toEqual([true, false]);
    radio(element, 'quick').click();
    expect(asks).toEqual([{ type: 'use-pace', pace: 'quick' }]);
    await settled(element);
    expect([radio(element, 'steady').checked, radio(element, 'quick').checked]).toEqual([true, false]);
  });
});

test('two devices whose clocks drift apart are said to be, and one interface recommended', async () => {
  const element = await devices({ clocks: { kind: 'two-clocks', ppm: -38.24 } });
  expect(byRole(element.shadowRoot!, 'status', /38\.2 parts in a million apart.*One interface for both/)).toBeTruthy();
  expect(textOf(await devices({ clocks: { kind: 'one-clock', ppm: 0.3 } }))).not.toContain('clocks');
});

test('a pair that is not fit for layering is said to be, in a place that was there before', async () => {
  const element = await devices();
  const place = allByRole(element.shadowRoot!, 'status')[0];
  element.advice = 'wireless-likely';
  await settled(element);
  expect(byRole(element.shadowRoot!, 'status', /wired pair is recommended/)).toBe(place);
  expect(place?.querySelector('svg.query')).not.toBeNull();
});
