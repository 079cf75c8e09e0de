import { describe, expect, test } from 'vitest';
import { meaningOf, type Focus, type KeyStroke } from '../../src/ui/keys.js';

const stroke = (key: string, change: Partial<KeyStroke> = {}): KeyStroke => ({
  key,
  shift: false,
  repeat: false,
  modified: false,
  ...change,
});
const command = (key: string, focus: Focus, change: Partial<KeyStroke> = {}): string | null =>
  meaningOf(stroke(key, change), focus)?.command ?? null;

describe('with nothing typed', () => {
  test.each([
    [' ', {}, 'press'],
    ['PageDown', {}, 'press'],
    ['Escape', {}, 'stop'],
    ['Backspace', {}, 'take-back'],
    ['PageUp', {}, 'take-back'],
    ['Backspace', { shift: true }, 'put-back'],
    ['t', {}, 'tap'],
    ['T', { shift: true }, 'tap'],
    ['h', {}, 'hear-beat'],
    ['k', {}, 'turn-click'],
    ['Enter', {}, null],
    ['a', {}, null],
    ['ArrowDown', {}, null],
    ['Tab', {}, null],
  ] as const)('%j %o asks for %s', (key, change, expected) => {
    expect(command(key, 'other', change)).toBe(expected);
  });
});

test.each([' ', 'PageDown', 'PageUp', 'Escape', 'Backspace', 't', 'h', 'k'])(
  'in a text field %j is left to the field',
  (key) => {
    expect(meaningOf(stroke(key), 'text')).toBeNull();
  },
);

describe('in a choice', () => {
  test.each(['t', 'h', 'k'])('the letter %s is left to it, to choose by', (key) => {
    expect(meaningOf(stroke(key), 'choice')).toBeNull();
  });

  test.each([
    [' ', 'press'],
    ['PageDown', 'press'],
    ['Escape', 'stop'],
  ])('%j still asks for %s', (key, expected) => {
    expect(command(key, 'choice')).toBe(expected);
  });
});

describe('a key that repeats', () => {
  test.each([' ', 'PageDown', 'Backspace', 't', 'k'])('%j asks for nothing and is still ours', (key) => {
    expect(meaningOf(stroke(key, { repeat: true }), 'other')?.command).toBeNull();
  });
});

test.each([' ', 't', 'Backspace'])('%j with Control, Alt or Meta is left to the browser', (key) => {
  expect(meaningOf(stroke(key, { modified: true }), 'other')).toBeNull();
});

test.each([
  [' ', true],
  ['PageDown', true],
  ['Escape', false],
  ['t', false],
])('holding %j stops: %s', (key, holds) => {
  expect(meaningOf(stroke(key), 'other')?.holds).toBe(holds);
});
