import { expect, test } from 'vitest';
import * as words from '../../src/ui/words-trouble.js';

test('voice processing that stays on is named, and none needs no word', () => {
  expect(words.processingWords([])).toBe('');
  expect(words.processingWords(['noise suppression', 'gain control'])).toContain(
    'noise suppression and automatic gain',
  );
});

test.each([
  ['no-input-device', 'gone', null, 'input'],
  ['no-input-device', null, 'gone', null],
  ['no-output-device', null, 'gone', 'output'],
  ['no-output-device', 'gone', null, null],
  ['permission-refused', 'gone', 'gone', null],
] as const)(
  '%s, with the input %s and the output %s chosen, is for want of the chosen: %s',
  (why, inputId, outputId, side) => {
    const choice = { inputId, outputId, pace: 'steady' } as const;
    expect(words.goneSide(why, choice)).toBe(side);
    const said = words.soundRefusedWords(why, choice);
    expect(said).toMatch(/^[A-Z].+\.$/);
    expect(said.startsWith(`The ${side ?? 'x'} you chose is not there`)).toBe(side !== null);
  },
);
