import { describe, expect, test } from 'vitest';
import { LevelReading } from '../../src/ui/input-level.js';

const peak = (decibels: number): number => 10 ** (decibels / 20);

describe('a first peak', () => {
  test.each([
    [-Infinity, 'silent'],
    [-61, 'silent'],
    [-59, 'low'],
    [-31, 'low'],
    [-29, 'good'],
    [-1, 'good'],
    [-0.2, 'clipping'],
    [0, 'clipping'],
  ])('of %d dB reads %s', (decibels, word) => {
    expect(new LevelReading().read(peak(decibels), 0)).toBe(word);
  });
});

test('the loudest peak of the last two and a half seconds counts', () => {
  const reading = new LevelReading();
  reading.read(peak(-12), 0);
  expect(reading.read(peak(-70), 2_400)).toBe('good');
  expect(reading.read(peak(-70), 2_600)).toBe('silent');
});

test('after the loudest, the next loudest counts', () => {
  const reading = new LevelReading();
  reading.read(1, 0);
  reading.read(peak(-12), 1_500);
  expect(reading.read(peak(-70), 2_600)).toBe('good');
});
