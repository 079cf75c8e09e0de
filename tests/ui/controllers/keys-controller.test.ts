import type { ReactiveController, ReactiveControllerHost } from 'lit';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Ask } from '../../../src/ui/asks.js';
import { KeysController } from '../../../src/ui/controllers/keys-controller.js';
import { HOLD_MS } from '../../../src/ui/keys.js';
import { keyDown, keyUp } from '../support/stage.js';

const host: ReactiveControllerHost = {
  addController: (_: ReactiveController) => undefined,
  removeController: (_: ReactiveController) => undefined,
  requestUpdate: () => undefined,
  updateComplete: Promise.resolve(true),
};

let asks: Ask[];
let keys: KeysController;

beforeEach(() => {
  vi.useFakeTimers();
  asks = [];
  keys = new KeysController(host, (ask) => asks.push(ask));
  keys.hostConnected();
});

afterEach(() => {
  keys.hostDisconnected();
  document.body.replaceChildren();
  vi.useRealTimers();
});

/** Something focusable inside a shadow root, as in the page. */
function inside<Kind extends HTMLElement>(element: Kind): Kind {
  const outer = document.createElement('div');
  outer.attachShadow({ mode: 'open' }).append(element);
  document.body.append(outer);
  return element;
}

function field(type: string): HTMLInputElement {
  const input = document.createElement('input');
  input.type = type;
  return inside(input);
}

const types = (): readonly string[] => asks.map((ask) => ask.type);

describe('the switch', () => {
  test.each([' ', 'PageDown'])('%j is pressed with the time of its own event', (key) => {
    const event = keyDown(document.body, key);
    expect(asks).toEqual([{ type: 'press', timeStamp: event.timeStamp }]);
  });

  test('never scrolls', () => {
    expect(keyDown(document.body, ' ').defaultPrevented).toBe(true);
    expect(keyDown(document.body, 'PageDown').defaultPrevented).toBe(true);
    expect(keyDown(document.body, 'PageUp').defaultPrevented).toBe(true);
  });

  test('never activates a focused button, neither going down nor coming up', () => {
    const button = inside(document.createElement('button'));
    expect(keyDown(button, ' ').defaultPrevented).toBe(true);
    expect(keyUp(button, ' ').defaultPrevented).toBe(true);
    expect(types()).toEqual(['press']);
  });

  test('repeating presses nothing, and still does not scroll', () => {
    keyDown(document.body, ' ');
    const again = keyDown(document.body, ' ', { repeat: true });
    expect(again.defaultPrevented).toBe(true);
    expect(types()).toEqual(['press']);
  });

  test('in a text field types', () => {
    const input = field('text');
    expect(keyDown(input, ' ').defaultPrevented).toBe(false);
    expect(keyUp(input, ' ').defaultPrevented).toBe(false);
    expect(keyDown(input, 't').defaultPrevented).toBe(false);
    expect(types()).toEqual([]);
  });

  test('on a control that is no text field is still the switch', () => {
    keyDown(field('checkbox'), ' ');
    keyDown(inside(document.createElement('select')), ' ');
    expect(types()).toEqual(['press', 'press']);
  });

  test('in a number presses, and comes up without typing', () => {
    const input = field('text');
    input.setAttribute('inputmode', 'decimal');
    expect(keyDown(input, ' ').defaultPrevented).toBe(true);
    expect(keyUp(input, ' ').defaultPrevented).toBe(true);
    expect(types()).toEqual(['press']);
  });

  test('sent by a foot acts in a text field too', () => {
    const input = field('text');
    expect(keyDown(input, 'PageDown').defaultPrevented).toBe(true);
    expect(keyDown(input, 'PageUp').defaultPrevented).toBe(true);
    expect(types()).toEqual(['press', 'take-back']);
  });
});

test('T, H and K act where a choice has the focus, and are not taken to choose by', () => {
  const select = inside(document.createElement('select'));
  expect(['t', 'h', 'k'].map((key) => keyDown(select, key).defaultPrevented)).toEqual([true, true, true]);
  expect(types()).toEqual(['tap', 'hear-beat', 'turn-click']);
});

test('Enter held on a button presses it once', () => {
  const button = inside(document.createElement('button'));
  expect(keyDown(button, 'Enter').defaultPrevented).toBe(false);
  expect(keyDown(button, 'Enter', { repeat: true }).defaultPrevented).toBe(true);
  expect(types()).toEqual([]);
});

describe('held', () => {
  test('for 700 ms it stops, at the moment it had been held that long, and undoes its press', () => {
    const { timeStamp } = keyDown(document.body, 'PageDown');
    vi.advanceTimersByTime(HOLD_MS - 1);
    expect(types()).toEqual(['press']);
    vi.advanceTimersByTime(1);
    expect(asks.at(-1)).toEqual({ type: 'stop', timeStamp: timeStamp + 700, held: true });
  });

  test('while it repeats it stops once', () => {
    keyDown(document.body, ' ');
    for (let i = 0; i < 60; i += 1) {
      vi.advanceTimersByTime(33);
      keyDown(document.body, ' ', { repeat: true });
    }
    expect(types()).toEqual(['press', 'stop']);
  });

  test('and let go in time it only presses', () => {
    keyDown(document.body, ' ');
    vi.advanceTimersByTime(650);
    keyUp(document.body, ' ');
    vi.advanceTimersByTime(1000);
    expect(types()).toEqual(['press']);
  });

  test('while another key comes up it goes on being held', () => {
    keyDown(document.body, ' ');
    keyUp(document.body, 't');
    vi.advanceTimersByTime(HOLD_MS);
    expect(types()).toEqual(['press', 'stop']);
  });

  test('until the window loses the keyboard it does not stop', () => {
    keyDown(document.body, ' ');
    window.dispatchEvent(new Event('blur'));
    vi.advanceTimersByTime(1000);
    expect(types()).toEqual(['press']);
  });

  test.each(['Backspace', 't', 'k'])('%j does not stop anything', (key) => {
    keyDown(document.body, key);
    vi.advanceTimersByTime(1000);
    expect(types()).not.toContain('stop');
  });
});

describe('other keys', () => {
  test('T taps with the time of its own event', () => {
    const event = keyDown(document.body, 't');
    expect(asks).toEqual([{ type: 'tap', timeStamp: event.timeStamp }]);
  });

  test.each([
    ['Escape', {}, 'stop'],
    ['Backspace', {}, 'take-back'],
    ['Backspace', { shift: true }, 'put-back'],
    ['h', {}, 'hear-beat'],
    ['k', {}, 'turn-click'],
  ])('%s %o asks for %s', (key, options, expected) => {
    keyDown(document.body, key, options);
    expect(types()).toEqual([expected]);
  });

  test('that mean nothing are left alone', () => {
    expect(keyDown(document.body, 'Enter').defaultPrevented).toBe(false);
    expect(keyDown(document.body, 'r', { ctrl: true }).defaultPrevented).toBe(false);
    expect(types()).toEqual([]);
  });
});

test('once disconnected it hears nothing more', () => {
  keys.hostDisconnected();
  keyDown(document.body, ' ');
  expect(types()).toEqual([]);
});
