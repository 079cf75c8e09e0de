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
      expect(textOf(byRole(figure.shadowRoot!, 'status', /./))).toBe('from 20 to 400');
    },
  );
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
