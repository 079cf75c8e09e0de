import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/name.js';
import type { NameElement } from '../../../src/ui/elements/name.js';
import { byRole } from '../support/roles.js';
import { keyDown, settled, staged, type } from '../support/stage.js';

async function title(): Promise<{ name: NameElement; wished: string[] }> {
  const name = await staged('mh-name', { value: 'Last Boat Home', label: 'Title', hint: 'Retitle' });
  const wished: string[] = [];
  name.addEventListener('mh-name', (event) => wished.push(event.text));
  return { name, wished };
}

async function opened(): Promise<{ name: NameElement; wished: string[]; field: HTMLInputElement }> {
  const { name, wished } = await title();
  byRole(name.shadowRoot!, 'button', 'Last Boat Home').click();
  await settled(name);
  return { name, wished, field: byRole(name.shadowRoot!, 'textbox', 'Title') as HTMLInputElement };
}

test('a press opens it with the name in it', async () => {
  const { field } = await opened();
  expect(field.value).toBe('Last Boat Home');
});

describe('a new name', () => {
  test('is written with Enter, and the focus goes back to it', async () => {
    const { name, wished, field } = await opened();
    type(field, 'Slack Water');
    keyDown(field, 'Enter');
    await settled(name);
    expect(wished).toEqual(['Slack Water']);
    expect(name.shadowRoot!.activeElement?.tagName).toBe('BUTTON');
  });

  test('is written by leaving the field', async () => {
    const { wished, field } = await opened();
    type(field, 'Slack Water');
    field.dispatchEvent(new FocusEvent('blur'));
    expect(wished).toEqual(['Slack Water']);
  });

  test('is dropped with Escape, which nothing else hears', async () => {
    const { name, wished, field } = await opened();
    let heard = 0;
    const listen = (): void => void (heard += 1);
    window.addEventListener('keydown', listen);
    type(field, 'Slack Water');
    keyDown(field, 'Escape');
    await settled(name);
    window.removeEventListener('keydown', listen);
    expect([wished, heard]).toEqual([[], 0]);
    byRole(name.shadowRoot!, 'button', 'Last Boat Home');
  });

  test('that is empty is passed on to be refused in words', async () => {
    const { wished, field } = await opened();
    type(field, '');
    keyDown(field, 'Enter');
    expect(wished).toEqual(['']);
  });

  test('that is the same wishes for nothing', async () => {
    const { wished, field } = await opened();
    keyDown(field, 'Enter');
    expect(wished).toEqual([]);
  });

  test('is wished for once, though the field is left too', async () => {
    const { name, wished, field } = await opened();
    type(field, 'Slack Water');
    keyDown(field, 'Enter');
    field.dispatchEvent(new FocusEvent('blur'));
    await settled(name);
    expect(wished).toEqual(['Slack Water']);
  });
});
