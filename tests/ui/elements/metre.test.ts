import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/metre.js';
import type { MetreElement } from '../../../src/ui/elements/metre.js';
import { defaultMetre } from '../../../src/core/meter/metres.js';
import { allByRole, byRole, nameOf, textOf } from '../support/roles.js';
import { asksOf, choose, keyDown, settled, staged, type } from '../support/stage.js';

async function opened(): Promise<MetreElement> {
  const element = await staged('mh-metre', { ...defaultMetre(4, 4) });
  byRole(element.shadowRoot!, 'button', 'Metre 4/4').click();
  await settled(element);
  return element;
}

const field = (element: MetreElement, role: string, name: string): HTMLElement =>
  byRole(element.shadowRoot!, role, name);

async function write(element: MetreElement, name: string, text: string): Promise<void> {
  type(field(element, 'textbox', name), text);
  await settled(element);
}

async function set(element: MetreElement): Promise<void> {
  field(element, 'button', 'Set the metre').closest('form')!.requestSubmit();
  await settled(element);
}

const chosen = (element: MetreElement, name: string): string =>
  textOf((field(element, 'combobox', name) as HTMLSelectElement).selectedOptions[0]!);

describe('the slip', () => {
  test('opens with the metre as it is', async () => {
    const element = await opened();
    expect((field(element, 'textbox', 'Pulses in a bar') as HTMLInputElement).value).toBe('4');
    expect((field(element, 'textbox', 'Felt as') as HTMLInputElement).value).toBe('1+1+1+1');
    expect(chosen(element, 'The tempo counts')).toBe('quarter notes');
  });

  test('goes away with Escape, which nothing else hears', async () => {
    const element = await opened();
    let heard = 0;
    const listen = (): void => void (heard += 1);
    window.addEventListener('keydown', listen);
    keyDown(field(element, 'textbox', 'Felt as'), 'Escape');
    window.removeEventListener('keydown', listen);
    await settled(element);
    expect([heard, allByRole(element.shadowRoot!, 'dialog')]).toEqual([0, []]);
    expect(element.shadowRoot!.activeElement?.tagName).toBe('BUTTON');
  });

  test('goes away with a press outside it, and not with one inside', async () => {
    const element = await opened();
    field(element, 'textbox', 'Felt as').dispatchEvent(
      new PointerEvent('pointerdown', { bubbles: true, composed: true }),
    );
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toHaveLength(1);
    document.body.dispatchEvent(new PointerEvent('pointerdown', { bubbles: true, composed: true }));
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
  });

  test('goes away with a second press on the figures', async () => {
    const element = await opened();
    const figures = byRole(element.shadowRoot!, 'button', 'Metre 4/4');
    figures.dispatchEvent(new PointerEvent('pointerdown', { bubbles: true, composed: true }));
    byRole(element.shadowRoot!, 'textbox', 'Felt as').dispatchEvent(
      new FocusEvent('focusout', { bubbles: true, composed: true, relatedTarget: figures }),
    );
    await settled(element);
    figures.click();
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
  });

  test('goes away when the focus leaves it for something else', async () => {
    const element = await opened();
    const other = document.createElement('button');
    document.body.append(other);
    element.shadowRoot!.querySelector('mh-slip')!.dispatchEvent(new FocusEvent('focusout', { relatedTarget: other }));
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
  });

  test('can be left without a change', async () => {
    const element = await opened();
    const asks = asksOf(element);
    field(element, 'button', 'Leave it').click();
    await settled(element);
    expect([asks, allByRole(element.shadowRoot!, 'dialog')]).toEqual([[], []]);
  });
});

describe('another metre', () => {
  test('is asked for with what the tempo counts, and the slip goes away', async () => {
    const element = await opened();
    const asks = asksOf(element);
    await write(element, 'Pulses in a bar', '3');
    await set(element);
    expect(asks).toEqual([
      { type: 'set-metre', metre: { num: 3, den: 4, groups: [1, 1, 1] }, mark: { num: 1, den: 4 } },
    ]);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
  });

  test('is felt as such bars usually are, until it is said otherwise', async () => {
    const element = await opened();
    await write(element, 'Pulses in a bar', '7');
    choose(field(element, 'combobox', 'of this value'), '8');
    await settled(element);
    expect((field(element, 'textbox', 'Felt as') as HTMLInputElement).value).toBe('2+2+3');
    expect(chosen(element, 'The tempo counts')).toBe('eighth notes');
  });

  test('can be felt in one of the usual ways at a press', async () => {
    const element = await opened();
    const asks = asksOf(element);
    await write(element, 'Pulses in a bar', '7');
    choose(field(element, 'combobox', 'of this value'), '8');
    await settled(element);
    field(element, 'button', '3+2+2').click();
    await settled(element);
    await set(element);
    expect(asks).toEqual([
      { type: 'set-metre', metre: { num: 7, den: 8, groups: [3, 2, 2] }, mark: { num: 1, den: 8 } },
    ]);
  });

  test('can be counted otherwise: quarters in 6/8', async () => {
    const element = await opened();
    const asks = asksOf(element);
    await write(element, 'Pulses in a bar', '6');
    choose(field(element, 'combobox', 'of this value'), '8');
    await settled(element);
    expect(chosen(element, 'The tempo counts')).toBe('dotted quarter notes');
    choose(field(element, 'combobox', 'The tempo counts'), '1/4');
    await set(element);
    expect(asks).toMatchObject([{ metre: { groups: [3, 3] }, mark: { num: 1, den: 4 } }]);
  });
});

describe('a metre that cannot be is not asked for, and why is said:', () => {
  test.each([
    ['33', '1+1', /Pulses in a bar: from 1 to 32/],
    ['', '1', /Pulses in a bar: from 1 to 32/],
    ['5', '2+2', /2\+2 does not add up to 5/],
    ['5', 'two and three', /does not add up to 5/],
  ])('%s pulses felt as %s', async (pulses, groups, words) => {
    const element = await opened();
    const asks = asksOf(element);
    const place = byRole(element.shadowRoot!, 'alert', '');
    await write(element, 'Pulses in a bar', pulses);
    await write(element, 'Felt as', groups);
    await set(element);
    expect(asks).toEqual([]);
    expect(byRole(element.shadowRoot!, 'alert', /./)).toBe(place);
    expect(textOf(byRole(element.shadowRoot!, 'alert', /./))).toMatch(words);
    expect((field(element, 'textbox', 'Felt as') as HTMLInputElement).value).toBe(groups);
  });
});

test('held by what was played it cannot be opened', async () => {
  const element = await staged('mh-metre', { ...defaultMetre(7, 8), held: true });
  expect(allByRole(element.shadowRoot!, 'button')).toEqual([]);
  const figures = element.shadowRoot!.querySelector('.figures')!;
  expect([nameOf(figures), figures.getAttribute('title')]).toEqual(['Metre 7/8', '7/8 (2+2+3)']);
});

test('held by what was played it keeps the focus it had', async () => {
  const element = await staged('mh-metre', { ...defaultMetre(4, 4) });
  byRole(element.shadowRoot!, 'button', 'Metre 4/4').focus();
  element.held = true;
  await settled(element);
  expect(element.shadowRoot!.activeElement?.className).toBe('figures');
});
