import { expect, test } from 'vitest';
import '../../../src/ui/elements/beat.js';
import { defaultMetre, feltBeats } from '../../../src/core/meter/metres.js';
import { staged } from '../support/stage.js';

const numbersOf = (root: ParentNode): readonly string[] =>
  [...root.querySelectorAll('text')].map((text) => text.textContent);

test.each([
  [4, 4, '1 2 3 4'],
  [6, 8, '1 2'],
  [7, 8, '1 2 3'],
  [16, 4, '1 3 5 7 9 11 13 15'],
] as const)('%d/%d is numbered %s', async (num, den, expected) => {
  const element = await staged('mh-beat', { metre: defaultMetre(num, den).metre });
  expect(numbersOf(element.shadowRoot!).join(' ')).toBe(expected);
});

test('the hand moves with the beat, and rests hollow at the top', async () => {
  const { metre } = defaultMetre(4, 4);
  const element = await staged('mh-beat', { metre });
  const hand = element.shadowRoot!.querySelector('.hand')!;
  expect(hand.classList.contains('resting')).toBe(true);
  const places = feltBeats(metre).map((_, beat) => {
    element.point(beat, 0);
    return hand.getAttribute('transform');
  });
  expect(new Set(places).size).toBe(4);
  expect(hand.classList.contains('resting')).toBe(false);
  element.rest();
  expect(hand.classList.contains('resting')).toBe(true);
});
