import { expect, test, vi } from 'vitest';
import { need } from '../support/needs.js';
import { programs } from './programs.js';

const stop = () => {
  throw new Error('skipped');
};

// Made-up programs are shell scripts.
test.runIf(process.platform !== 'win32')('need returns the path of a program on PATH, and skips nothing', () => {
  const { folder, env } = programs({ sox: '' });
  const skip = vi.fn();
  expect(need('sox', skip, env)).toBe(`${folder}/sox`);
  expect(skip).not.toHaveBeenCalled();
});

test('need skips by name where the program is missing', () => {
  const skip = vi.fn(stop);
  expect(() => need('sox', skip, programs({}).env)).toThrow('skipped');
  expect(skip).toHaveBeenCalledWith('needs sox, which is not on PATH');
});

test('need fails where the program is missing and everything is required', () => {
  const skip = vi.fn(stop);
  expect(() => need('sox', skip, { ...programs({}).env, MANYHAND_REQUIRE: '1' })).toThrow('This test needs sox');
  expect(skip).not.toHaveBeenCalled();
});

test('need never goes on without the program, even if skipping returns', () => {
  expect(() => need('sox', () => undefined, programs({}).env)).toThrow('This test needs sox');
});
