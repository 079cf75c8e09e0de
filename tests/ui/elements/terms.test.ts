import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/terms.js';
import { defaultCountIn } from '../../../src/core/meter/count-in.js';
import { barFrames } from '../../../src/core/meter/grid.js';
import { defaultMetre } from '../../../src/core/meter/metres.js';
import { bpm, sampleRate } from '../../../src/core/units/index.js';
import type { TermsElement } from '../../../src/ui/elements/terms.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, choose, settled, staged } from '../support/stage.js';

const choice = (element: TermsElement, name: string): HTMLSelectElement =>
  byRole(element.shadowRoot!, 'combobox', name) as HTMLSelectElement;

describe('the length', () => {
  test.each([
    [null, 'open, until I close it'],
    [1, '1 bar'],
    [64, '64 bars'],
  ])('of %s is shown as %s', async (bars, text) => {
    const element = await staged('mh-terms', { bars });
    expect(textOf(choice(element, 'length').selectedOptions[0]!)).toBe(text);
  });

  test.each([
    ['8', 8],
    ['', null],
  ])('chosen as "%s" asks for %s', async (value, bars) => {
    const element = await staged('mh-terms', { bars: 4 });
    const asks = asksOf(element);
    choose(choice(element, 'length'), value);
    expect(asks).toEqual([{ type: 'set-section-bars', bars }]);
  });

  test('refused goes back to what holds', async () => {
    const element = await staged('mh-terms', { bars: 4 });
    choose(choice(element, 'length'), '8');
    await settled(element);
    expect(choice(element, 'length').value).toBe('4');
  });

  test('held by what was played cannot be chosen', async () => {
    const element = await staged('mh-terms', { bars: 4, held: true });
    expect(allByRole(element.shadowRoot!, 'combobox')).toHaveLength(1);
    expect(textOf(element.shadowRoot!)).toContain('4 bars');
  });

  test('held by what was played gives the focus it had to the count-in', async () => {
    const element = await staged('mh-terms', { bars: 4 });
    choice(element, 'length').focus();
    element.held = true;
    await settled(element);
    expect(element.shadowRoot!.activeElement).toBe(choice(element, 'count-in'));
  });

  test('held by what was played takes the focus from nowhere', async () => {
    const element = await staged('mh-terms', { bars: 4 });
    element.held = true;
    await settled(element);
    expect(element.shadowRoot!.activeElement).toBeNull();
  });
});

describe('the count-in', () => {
  test.each([
    ['2', 2],
    ['1', 1],
    ['', null],
  ])('chosen as "%s" asks for %s', async (value, bars) => {
    const element = await staged('mh-terms', { countIn: value === '2' ? null : 2 });
    const asks = asksOf(element);
    choose(choice(element, 'count-in'), value);
    expect(asks).toEqual([{ type: 'set-count-in', bars }]);
  });

  test('goes by the tempo unless it was chosen', async () => {
    const element = await staged('mh-terms', { countIn: null });
    expect(textOf(choice(element, 'count-in').selectedOptions[0]!)).toBe('1 bar, 2 if bars are short');
  });

  // What the words say must hold: the first for a new song, the second where its bars are shorter.
  test.each([
    [96, 1],
    [180, 2],
  ])('says what holds: at %d in 4/4 it is %d', (tempo, expected) => {
    const rate = sampleRate(48_000);
    const { metre, mark } = defaultMetre(4, 4);
    expect(defaultCountIn(barFrames(metre, { bpm: bpm(tempo), mark }, rate), rate)).toBe(expected);
  });
});
