import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/tempo.js';
import type { TempoElement } from '../../../src/ui/elements/tempo.js';
import { bpm } from '../../../src/core/units/index.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, settled, staged } from '../support/stage.js';

const TAPS = { taps: 9, bpm: bpm(120), spread: 0.4, other: null };

const tempo = (change: Partial<TempoElement> = {}): Promise<TempoElement> =>
  staged('mh-tempo', { bpm: 96, sounding: 96, word: 'Andante', ...change });

const press = (element: TempoElement, name: string | RegExp, shiftKey = false): void => {
  byRole(element.shadowRoot!, 'button', name).dispatchEvent(new MouseEvent('click', { shiftKey }));
};

test('it reads as an engraver sets it: a word, a note, the figure', async () => {
  const element = await tempo();
  expect(textOf(element.shadowRoot!)).toMatch(/^Andante 96/);
  expect(element.shadowRoot!.querySelector('svg.note')).not.toBeNull();
  expect(byRole(element.shadowRoot!, 'spinbutton', 'Tempo').getAttribute('aria-valuetext')).toBe(
    '96 quarter notes a minute',
  );
});

describe('turning it', () => {
  test.each([
    ['Faster', false, 97],
    ['Slower', false, 95],
    ['Faster', true, 96.1],
    ['Slower', true, 95.9],
    ['half', false, 48],
    ['double', false, 192],
  ])('%s, with Shift: %s, asks for %d', async (name, shift, expected) => {
    const element = await tempo();
    const asks = asksOf(element);
    press(element, name, shift);
    expect(asks).toEqual([{ type: 'set-tempo', bpm: expected }]);
  });

  test.each([
    [210, 'double'],
    [39, 'half'],
    [400, 'Faster'],
    [20, 'Slower'],
  ])('at %d it cannot go beyond the limits: %s', async (value, name) => {
    const element = await tempo({ bpm: value });
    const asks = asksOf(element);
    expect(byRole(element.shadowRoot!, 'button', name).getAttribute('aria-disabled')).toBe('true');
    press(element, name);
    expect(asks).toEqual([]);
  });

  test.each([
    ['Faster', 121],
    ['Slower', 119],
    ['half', 60],
    ['double', 240],
  ])('while taps give a reading it is the reading that %s turns, to %d', async (name, expected) => {
    const element = await tempo({ taps: TAPS });
    const asks = asksOf(element);
    press(element, name);
    expect(asks).toEqual([{ type: 'set-tempo', bpm: expected }]);
  });

  test('while taps give no reading yet it is the tempo that is turned', async () => {
    const element = await tempo({ taps: { taps: 2, bpm: null, spread: null, other: null } });
    const asks = asksOf(element);
    press(element, 'Faster');
    expect(asks).toEqual([{ type: 'set-tempo', bpm: 97 }]);
  });
});

describe('tapping', () => {
  test('counts when the pointer goes down, once', async () => {
    const element = await tempo();
    const asks = asksOf(element);
    const tap = byRole(element.shadowRoot!, 'button', 'Tap');
    const down = new PointerEvent('pointerdown', { button: 0 });
    tap.dispatchEvent(down);
    tap.dispatchEvent(new MouseEvent('click', { detail: 1 }));
    expect(asks).toEqual([{ type: 'tap', timeStamp: down.timeStamp }]);
  });

  test('counts a click that no pointer began, as from Enter', async () => {
    const element = await tempo();
    const asks = asksOf(element);
    const click = new MouseEvent('click');
    byRole(element.shadowRoot!, 'button', 'Tap').dispatchEvent(click);
    expect(asks).toEqual([{ type: 'tap', timeStamp: click.timeStamp }]);
  });

  test('shows what the taps say so far, politely, in a place that was there before', async () => {
    const element = await tempo();
    const place = byRole(element.shadowRoot!, 'status', '');
    element.taps = { taps: 6, bpm: bpm(96.2), spread: 1.3, other: null };
    await settled(element);
    expect(byRole(element.shadowRoot!, 'status', /./)).toBe(place);
    expect(textOf(place)).toBe('6 taps: 96.2, give or take 1.3');
  });
});

describe('the other reading of the taps', () => {
  test('is offered beside the one that is taken, and sets the tempo', async () => {
    const element = await tempo({ taps: { ...TAPS, other: bpm(40.04) }, mark: { num: 3, den: 8 } });
    const asks = asksOf(element);
    expect(byRole(element.shadowRoot!, 'button', 'or 40').title).toBe('40 dotted quarter notes a minute');
    press(element, 'or 40');
    expect(asks).toEqual([{ type: 'set-tempo', bpm: 40 }]);
  });

  test.each<[string, Partial<TempoElement>]>([
    ['there is none', { taps: TAPS }],
    ['nobody taps', { taps: null }],
    ['it is beyond the limits', { taps: { ...TAPS, other: bpm(401) } }],
    ['the tempo is held', { taps: { ...TAPS, other: bpm(40) }, held: true }],
  ])('is not where %s', async (_, change) => {
    expect(
      allByRole((await tempo(change)).shadowRoot!, 'button')
        .map(textOf)
        .filter((name) => /^or/.test(name)),
    ).toEqual([]);
  });
});

test('the beat can be heard, unless something sounds already', async () => {
  const element = await tempo();
  const asks = asksOf(element);
  press(element, 'Hear it');
  expect(asks).toMatchObject([{ type: 'hear-beat' }]);
  const running = await tempo({ running: true });
  const more = asksOf(running);
  expect(byRole(running.shadowRoot!, 'button', 'Hear it').getAttribute('aria-disabled')).toBe('true');
  press(running, 'Hear it');
  expect(more).toEqual([]);
});

describe('the focus', () => {
  const focused = (element: TempoElement): Element | null => element.shadowRoot!.activeElement;

  test('rests on the mark where what changed it is held now', async () => {
    const element = await tempo();
    byRole(element.shadowRoot!, 'button', 'Faster').focus();
    element.held = true;
    await settled(element);
    expect(focused(element)?.className).toBe('mark');
  });

  test('goes back to the figure once it can be changed again', async () => {
    const element = await tempo({ held: true });
    element.shadowRoot!.querySelector<HTMLElement>('.mark')!.focus();
    element.held = false;
    await settled(element);
    expect(focused(element)?.tagName).toBe('MH-FIGURE');
  });

  test('goes to the figure when the other reading goes away', async () => {
    const element = await tempo({ taps: { ...TAPS, other: bpm(40) } });
    byRole(element.shadowRoot!, 'button', 'or 40').focus();
    element.taps = null;
    await settled(element);
    expect(focused(element)?.tagName).toBe('MH-FIGURE');
  });

  test('stays on a button that can do no more', async () => {
    const element = await tempo({ bpm: 399 });
    const faster = byRole(element.shadowRoot!, 'button', 'Faster');
    faster.focus();
    element.bpm = 400;
    await settled(element);
    expect(focused(element)).toBe(faster);
  });

  test('is left where it is when it was not here', async () => {
    const element = await tempo();
    element.held = true;
    await settled(element);
    expect(focused(element)).toBeNull();
  });
});

test('held by what was played it stands as it is', async () => {
  const element = await tempo({ held: true });
  expect(allByRole(element.shadowRoot!, 'button')).toEqual([]);
  expect(allByRole(element.shadowRoot!, 'spinbutton')).toEqual([]);
  expect(textOf(element.shadowRoot!)).toContain('96');
});

test('a tempo that sounds otherwise than asked for is said', async () => {
  expect(textOf((await tempo({ bpm: 399, sounding: 399.12 })).shadowRoot!)).toContain('sounds as 399.12');
  expect(textOf((await tempo({ sounding: 96.0003 })).shadowRoot!)).not.toContain('sounds');
});
