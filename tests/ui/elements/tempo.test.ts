import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/tempo.js';
import type { TempoElement } from '../../../src/ui/elements/tempo.js';
import { bpm } from '../../../src/core/units/index.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, staged } from '../support/stage.js';

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
    expect(byRole(element.shadowRoot!, 'button', name).hasAttribute('disabled')).toBe(true);
  });
});

describe('tapping', () => {
  test('counts when the pointer goes down, once', async () => {
    const element = await tempo();
    const asks = asksOf(element);
    const tap = byRole(element.shadowRoot!, 'button', 'Tap');
    const down = new PointerEvent('pointerdown', { button: 0 });
    tap.dispatchEvent(down);
    tap.dispatchEvent(new MouseEvent('click'));
    expect(asks).toEqual([{ type: 'tap', timeStamp: down.timeStamp }]);
  });

  test('counts a click that no pointer began, as from Enter', async () => {
    const element = await tempo();
    const asks = asksOf(element);
    const click = new MouseEvent('click');
    byRole(element.shadowRoot!, 'button', 'Tap').dispatchEvent(click);
    expect(asks).toEqual([{ type: 'tap', timeStamp: click.timeStamp }]);
  });

  test('shows what the taps say so far, politely', async () => {
    const element = await tempo({ taps: { taps: 6, bpm: bpm(96.2), spread: 1.3 } });
    expect(textOf(byRole(element.shadowRoot!, 'status', /./))).toBe('6 taps: 96.2, give or take 1.3');
  });
});

test('the beat can be heard, unless something sounds already', async () => {
  const element = await tempo();
  const asks = asksOf(element);
  press(element, 'Hear it');
  expect(asks).toMatchObject([{ type: 'hear-beat' }]);
  const running = await tempo({ running: true });
  expect(byRole(running.shadowRoot!, 'button', 'Hear it').hasAttribute('disabled')).toBe(true);
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
