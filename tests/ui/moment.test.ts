import { expect, test } from 'vitest';
import { Moment } from '../../src/ui/moment.js';

/** A moment, and the acts it was asked for. */
function given(): { readonly moment: Moment; readonly acts: readonly number[] } {
  const acts: number[] = [];
  return { moment: new Moment((timeStamp) => acts.push(timeStamp)), acts };
}

const down = (button = 0): PointerEvent => new PointerEvent('pointerdown', { button });
/** UI Events: a click counts the presses of the pointer in `detail`; one that no pointer made counts none. */
const pointerClick = (): MouseEvent => new MouseEvent('click', { detail: 1 });
const keyClick = (): MouseEvent => new MouseEvent('click', { detail: 0 });

test('a pointer counts when it goes down, and its click does not count again', () => {
  const { moment, acts } = given();
  const event = down();
  moment.down(event);
  moment.click(pointerClick());
  expect(acts).toEqual([event.timeStamp]);
});

test('a click of a key counts', () => {
  const { moment, acts } = given();
  const event = keyClick();
  moment.click(event);
  expect(acts).toEqual([event.timeStamp]);
});

test('a click of an assistive program that counts like a pointer, but went nowhere down, counts', () => {
  const { moment, acts } = given();
  moment.click(pointerClick());
  expect(acts).toHaveLength(1);
});

test('a pointer let go elsewhere takes nothing from the key that comes next', () => {
  const { moment, acts } = given();
  moment.down(down());
  moment.click(keyClick());
  expect(acts).toHaveLength(2);
  moment.click(keyClick());
  expect(acts).toHaveLength(3);
});

test('a key pressed while the pointer is down leaves the pointer its one press', () => {
  const { moment, acts } = given();
  moment.down(down());
  moment.click(keyClick());
  moment.click(pointerClick());
  expect(acts).toHaveLength(2);
});

test('a pointer that was taken away may be followed by any click', () => {
  const { moment, acts } = given();
  moment.down(down());
  moment.cancel();
  moment.click(pointerClick());
  expect(acts).toHaveLength(2);
});

test('another button of the mouse does not count', () => {
  const { moment, acts } = given();
  moment.down(down(2));
  expect(acts).toEqual([]);
});
