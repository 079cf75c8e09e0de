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
    ['y', {}, 'keep-that'],
    ['Y', { shift: true }, 'keep-that'],
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

test.each(['Escape', 'Backspace', 'Enter', 'y', 't', 'h', 'k'])(
  'where anything is typed %j is left to the field',
  (key) => {
    expect([meaningOf(stroke(key), 'text'), meaningOf(stroke(key), 'number')]).toEqual([null, null]);
  },
);

// Feet press while hands type.
test.each([
  ['PageDown', 'press'],
  ['PageUp', 'take-back'],
])('%s asks for %s wherever the focus is', (key, expected) => {
  const everywhere: readonly Focus[] = ['text', 'number', 'other'];
  expect(everywhere.map((focus) => command(key, focus))).toEqual([expected, expected, expected]);
});

test('Space is typed into a text, and is the switch in a number', () => {
  expect(meaningOf(stroke(' '), 'text')).toBeNull();
  expect(meaningOf(stroke(' '), 'number')).toEqual({ command: 'press', holds: true });
});

describe('a key that repeats', () => {
  test.each([' ', 'PageDown', 'Backspace', 'y', 't', 'k'])('%j asks for nothing and is still ours', (key) => {
    expect(meaningOf(stroke(key, { repeat: true }), 'other')?.command).toBeNull();
  });

  test('Enter presses no button again and again, and is left to fields', () => {
    expect(meaningOf(stroke('Enter', { repeat: true }), 'other')).toEqual({ command: null, holds: false });
    expect(meaningOf(stroke('Enter', { repeat: true }), 'text')).toBeNull();
    expect(meaningOf(stroke('Enter'), 'other')).toBeNull();
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
