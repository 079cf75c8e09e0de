import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/terms.js';
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
    expect(textOf(choice(element, 'count-in').selectedOptions[0]!)).toBe('2 bars, 1 if slow');
  });
});
