import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/reference.js';
import type { ReferenceElement } from '../../../src/ui/elements/reference.js';
import type { ReferenceView } from '../../../src/rehearsal/round-trip-view.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, settled, staged } from '../support/stage.js';
import { ESTIMATE } from '../support/harbour-ferry.js';

const shown = (change: Partial<ReferenceView> = {}): Promise<ReferenceElement> =>
  staged('mh-reference', { reference: { ...ESTIMATE.reference, ...change } });
const radios = (element: ReferenceElement): readonly HTMLInputElement[] =>
  allByRole(element.shadowRoot!, 'radio') as HTMLInputElement[];
const namesOf = (element: ReferenceElement): readonly (string | null)[] =>
  radios(element).map((radio) => radio.getAttribute('aria-label'));
const heldBy = (element: ReferenceElement): readonly boolean[] => radios(element).map(({ checked }) => checked);

describe('the reference cable', () => {
  test('of one pair of outputs goes by either side', async () => {
    const element = await shown();
    expect(namesOf(element)).toEqual(['off', 'music left, reference right', 'reference left, music right']);
    expect(heldBy(element)).toEqual([true, false, false]);
    expect(heldBy(await shown({ side: 'right' }))).toEqual([false, true, false]);
    expect(heldBy(await shown({ side: 'left' }))).toEqual([false, false, true]);
  });

  test('of two pairs has the second', async () => {
    const element = await shown({ layout: 'pairs', side: 'left' });
    expect(namesOf(element)).toEqual(['off', 'on']);
    expect(heldBy(element)).toEqual([false, true]);
    expect(textOf(element)).toContain('from either output of the second pair into input 2');
  });

  test.each([
    [1, { on: true, side: 'right' }],
    [2, { on: true, side: 'left' }],
  ] as const)('choice %d is asked for, and shown once it holds', async (index, order) => {
    const element = await shown();
    const asks = asksOf(element);
    radios(element)[index]!.click();
    expect(asks).toEqual([{ type: 'use-reference', order }]);
    await settled(element);
    expect(heldBy(element)).toEqual([true, false, false]);
  });

  test('is let be', async () => {
    const element = await shown({ side: 'right' });
    const asks = asksOf(element);
    radios(element)[0]!.click();
    expect(asks).toMatchObject([{ type: 'use-reference', order: { on: false } }]);
  });

  test('says what it is good for, what to plug where, and what must not go to headphones', async () => {
    const words = textOf(await shown({ side: 'right' }));
    expect(words).toContain('Tells to the frame where every bar lies');
    expect(words).toContain('from the right output into input 2');
    expect(words).toContain('a quiet hiss at every bar, which must not go to headphones');
  });

  test.each([
    ['too-few-inputs', 'an input with a second socket'],
    ['too-few-outputs', 'an output with a second side'],
  ] as const)('where there is none to spare (%s), it says so and offers nothing', async (can, expected) => {
    const element = await shown({ can });
    expect(radios(element)).toEqual([]);
    expect(textOf(element)).toContain(expected);
  });

  test('that is out is told in a place that was there before', async () => {
    const element = await shown({ side: 'right' });
    const place = byRole(element.shadowRoot!, 'status', '');
    element.reference = { ...ESTIMATE.reference, side: 'right', isLost: true };
    await settled(element);
    expect(byRole(element.shadowRoot!, 'status', /Nothing came back for three bars/)).toBe(place);
  });
});
