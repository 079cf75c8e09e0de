import type { ReactiveController, ReactiveControllerHost } from 'lit';
import { beforeEach, describe, expect, test, vi } from 'vitest';
import { ThemeController } from '../../../src/ui/controllers/theme-controller.js';

const host: ReactiveControllerHost = {
  addController: (_: ReactiveController) => undefined,
  removeController: (_: ReactiveController) => undefined,
  requestUpdate: () => undefined,
  updateComplete: Promise.resolve(true),
};

const shown = (): string | undefined => document.documentElement.dataset['theme'];

/** A system that wishes for dark or light, and may change its mind. */
function system(dark: boolean): (dark: boolean) => void {
  const query = Object.assign(new EventTarget(), { matches: dark });
  vi.stubGlobal('matchMedia', () => query);
  return (now) => {
    query.matches = now;
    query.dispatchEvent(new Event('change'));
  };
}

beforeEach(() => {
  localStorage.clear();
});

function connected(): ThemeController {
  const look = new ThemeController(host);
  look.hostConnected();
  return look;
}

describe('until the player chooses', () => {
  test.each([
    [true, 'slate'],
    [false, 'paper'],
  ])('a system that wishes for dark: %s gets %s', (dark, theme) => {
    system(dark);
    connected();
    expect(shown()).toBe(theme);
  });

  test('it follows the system', () => {
    const wish = system(false);
    connected();
    wish(true);
    expect(shown()).toBe('slate');
  });
});

describe('once chosen', () => {
  test('the system no longer matters', () => {
    const wish = system(false);
    connected().choose('paper');
    wish(true);
    expect(shown()).toBe('paper');
  });

  test('it is so the next time', () => {
    system(false);
    connected().choose('slate');
    expect(connected().theme).toBe('slate');
  });

  test('it holds for this visit where the browser keeps nothing', () => {
    system(false);
    vi.stubGlobal('localStorage', {
      getItem: () => {
        throw new DOMException('refused', 'SecurityError');
      },
      setItem: () => {
        throw new DOMException('refused', 'SecurityError');
      },
    });
    const look = connected();
    look.choose('slate');
    expect([look.theme, shown()]).toEqual(['slate', 'slate']);
  });
});

test('what was stored by something else is not taken', () => {
  system(false);
  localStorage.setItem('manyhand.look', 'glitter');
  expect(connected().theme).toBe('paper');
});
