import { expect, test } from 'vitest';
import { checkMetre } from '../../src/core/meter/metres.js';
import type { PulseValue } from '../../src/core/meter/metre.js';
import { usualGroupings } from '../../src/ui/groupings.js';

test.each<[number, PulseValue, string]>([
  [5, 8, '3+2 2+3 1+1+1+1+1 5'],
  [7, 8, '2+2+3 2+3+2 3+2+2 1+1+1+1+1+1+1 7'],
  [6, 8, '3+3 2+2+2 1+1+1+1+1+1 6'],
  [4, 4, '1+1+1+1 2+2 4'],
  [5, 4, '1+1+1+1+1 2+3 3+2 5'],
  [1, 4, '1'],
])('%d/%d is offered as %s', (pulses, value, expected) => {
  expect(
    usualGroupings(pulses, value)
      .map((groups) => groups.join('+'))
      .join(' '),
  ).toBe(expected);
});

test('whatever is offered can be written', () => {
  for (let num = 1; num <= 32; num += 1) {
    for (const den of [1, 2, 4, 8, 16, 32] as const) {
      const offered = usualGroupings(num, den);
      expect(offered.length).toBeGreaterThan(0);
      expect(offered.length).toBeLessThanOrEqual(6);
      for (const groups of offered) expect(checkMetre({ num, den, groups }).ok).toBe(true);
    }
  }
});
