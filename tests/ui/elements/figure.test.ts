import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/figure.js';
import type { FigureElement } from '../../../src/ui/elements/figure.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { keyDown, settled, staged, type } from '../support/stage.js';

async function tempo(
  change: Partial<FigureElement> = {},
): Promise<{ figure: FigureElement; wished: (number | null)[] }> {
  const figure = await staged('mh-figure', {
    value: 96,
    least: 20,
    most: 400,
    label: 'Tempo',
    spoken: '96 a minute',
    ...change,
  });
  const wished: (number | null)[] = [];
  figure.addEventListener('mh-figure', (event) => wished.push(event.value));
  return { figure, wished };
}

const standing = (figure: FigureElement): HTMLElement => byRole(figure.shadowRoot!, 'spinbutton', 'Tempo');

/** Opens the field, types, and ends with a key. */
async function write(figure: FigureElement, text: string, end = 'Enter'): Promise<void> {
  keyDown(standing(figure), 'Enter');
  await settled(figure);
  const field = byRole(figure.shadowRoot!, 'textbox', 'Tempo');
  type(field, text);
  keyDown(field, end);
  await settled(figure);
}

test('it is a spinbutton that says its value, its limits and the value in words', async () => {
  const { figure } = await tempo();
  const values = ['aria-valuenow', 'aria-valuemin', 'aria-valuemax', 'aria-valuetext'];
  expect(values.map((name) => standing(figure).getAttribute(name))).toEqual(['96', '20', '400', '96 a minute']);
  expect(standing(figure).tabIndex).toBe(0);
});

// WAI-ARIA Authoring Practices, spinbutton pattern.
describe('keys turn it', () => {
  test.each([
    ['ArrowUp', {}, 96, 97],
    ['ArrowDown', {}, 96, 95],
    ['ArrowUp', { shift: true }, 96, 96.1],
    ['ArrowDown', { shift: true }, 96.3, 96.2],
    ['Home', {}, 96, 20],
    ['End', {}, 96, 400],
    ['ArrowUp', {}, 400, 400],
    ['ArrowDown', {}, 20.5, 20],
  ])('%s %o from %d to %d', async (key, options, value, expected) => {
    const { figure, wished } = await tempo({ value });
    expect(keyDown(standing(figure), key, options).defaultPrevented).toBe(true);
    expect(wished).toEqual([expected]);
  });

  test.each(['Tab', ' ', 'PageDown', 't'])('but %j is not one of them', async (key) => {
    const { figure, wished } = await tempo();
    expect(keyDown(standing(figure), key).defaultPrevented).toBe(false);
    expect(wished).toEqual([]);
  });
});

describe('a number typed', () => {
  test('and entered is wished for', async () => {
    const { figure, wished } = await tempo();
    await write(figure, '104.5');
    expect(wished).toEqual([104.5]);
  });

  test('with a decimal comma is understood', async () => {
    const { figure, wished } = await tempo();
    await write(figure, ' 104,5 ');
    expect(wished).toEqual([104.5]);
  });

  test('begins with the digit that opened the field', async () => {
    const { figure } = await tempo();
    keyDown(standing(figure), '1');
    await settled(figure);
    expect((byRole(figure.shadowRoot!, 'textbox', 'Tempo') as HTMLInputElement).value).toBe('1');
  });

  test('and left with Escape is dropped, without anything else hearing the key', async () => {
    const { figure, wished } = await tempo();
    let heard = 0;
    window.addEventListener('keydown', () => (heard += 1), { once: true });
    keyDown(standing(figure), 'Enter');
    await settled(figure);
    heard = 0;
    keyDown(byRole(figure.shadowRoot!, 'textbox', 'Tempo'), 'Escape');
    await settled(figure);
    expect([wished, heard]).toEqual([[], 0]);
    expect(textOf(standing(figure))).toBe('96');
  });

  test('that is the same wishes for nothing', async () => {
    const { figure, wished } = await tempo();
    await write(figure, '96');
    expect(wished).toEqual([]);
  });

  test('gives the focus back to the figure, so that the next key is no text', async () => {
    const { figure } = await tempo();
    await write(figure, '104');
    expect(figure.shadowRoot!.activeElement).toBe(standing(figure));
  });

  test.each(['999', '19', 'ninety', '1e9', '-96'])(
    'that cannot be (%s) stays, and what is expected is said',
    async (text) => {
      const { figure, wished } = await tempo();
      await write(figure, text);
      const field = byRole(figure.shadowRoot!, 'textbox', 'Tempo') as HTMLInputElement;
      expect([wished, field.value, field.getAttribute('aria-invalid')]).toEqual([[], text, 'true']);
      expect(textOf(byRole(figure.shadowRoot!, 'alert', /./))).toBe('from 20 to 400');
    },
  );

  test('has a place for what is expected before it has to be said', async () => {
    const { figure } = await tempo();
    keyDown(standing(figure), 'Enter');
    await settled(figure);
    const place = byRole(figure.shadowRoot!, 'alert', '');
    const field = byRole(figure.shadowRoot!, 'textbox', 'Tempo');
    type(field, '999');
    keyDown(field, 'Enter');
    await settled(figure);
    expect(byRole(figure.shadowRoot!, 'alert', /./)).toBe(place);
    expect(field.getAttribute('aria-describedby')).toBe(place.id);
  });

  test('that cannot be does not take the focus back when it is left and mended elsewhere', async () => {
    const { figure } = await tempo();
    await write(figure, '999');
    const field = byRole(figure.shadowRoot!, 'textbox', 'Tempo');
    type(field, '120');
    field.blur();
    await settled(figure);
    expect(figure.shadowRoot!.activeElement).toBeNull();
  });
});

describe('a switch key in a number', () => {
  /** Whether the page hears of the key, and whether the field has kept it for itself. */
  async function pressed(
    text: string,
    key: string,
  ): Promise<{ wished: readonly unknown[]; heard: boolean; open: boolean }> {
    const { figure, wished } = await tempo();
    let heard = false;
    const hear = (event: KeyboardEvent): void => {
      heard ||= event.key === key;
    };
    window.addEventListener('keydown', hear);
    await write(figure, text, key);
    window.removeEventListener('keydown', hear);
    return { wished, heard, open: allByRole(figure.shadowRoot!, 'textbox').length > 0 };
  }

  test.each([' ', 'PageDown'])('takes it, and goes on to the page: %j', async (key) => {
    expect(await pressed('120', key)).toEqual({ wished: [120], heard: true, open: false });
  });

  test('that cannot be: Space waits until it is mended', async () => {
    expect(await pressed('999', ' ')).toEqual({ wished: [], heard: false, open: true });
  });

  test('that cannot be: a foot’s PageDown goes on all the same', async () => {
    expect(await pressed('999', 'PageDown')).toEqual({ wished: [], heard: true, open: true });
  });

  test('gives the focus back to the figure', async () => {
    const { figure } = await tempo();
    await write(figure, '120', ' ');
    expect(figure.shadowRoot!.activeElement).toBe(standing(figure));
  });

  test('that is held, and repeats, takes nothing', async () => {
    const { figure, wished } = await tempo();
    keyDown(standing(figure), 'Enter');
    await settled(figure);
    const field = byRole(figure.shadowRoot!, 'textbox', 'Tempo');
    type(field, '120');
    keyDown(field, ' ', { repeat: true });
    await settled(figure);
    expect(wished).toEqual([]);
    expect(allByRole(figure.shadowRoot!, 'textbox')).toHaveLength(1);
  });
});

describe('given the focus', () => {
  test('it is on the figure, also before that is drawn', async () => {
    const figure = document.createElement('mh-figure');
    figure.label = 'Tempo';
    document.body.replaceChildren(figure);
    figure.focus();
    await settled(figure);
    expect(figure.shadowRoot!.activeElement).toBe(standing(figure));
  });
});

describe('emptied', () => {
  test('it wishes for nothing in particular where that is allowed', async () => {
    const { figure, wished } = await tempo({ clearable: true });
    await write(figure, '');
    expect(wished).toEqual([null]);
  });

  test('it stays as it was where it is not', async () => {
    const { figure, wished } = await tempo();
    await write(figure, '');
    expect(wished).toEqual([]);
    expect(allByRole(figure.shadowRoot!, 'textbox')).toEqual([]);
  });
});

test('the unit is written behind the number', async () => {
  const { figure } = await tempo({ unit: 'ms' });
  expect(textOf(standing(figure))).toBe('96 ms');
});
