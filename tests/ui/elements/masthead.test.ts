import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/masthead.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, keyDown, settled, staged, type } from '../support/stage.js';

test('the title is the heading of the page, and can be rewritten there', async () => {
  const element = await staged('mh-masthead', { song: 'Last Boat Home' });
  const asks = asksOf(element);
  expect(byRole(element.shadowRoot!, 'heading', /./).tagName).toBe('H1');
  byRole(element.shadowRoot!, 'button', 'Last Boat Home').click();
  await settled(element);
  const field = byRole(element.shadowRoot!, 'textbox', 'Title');
  type(field, 'Slack Water');
  keyDown(field, 'Enter');
  expect(asks).toEqual([{ type: 'retitle', title: 'Slack Water' }]);
});

describe('where it is kept', () => {
  const announced = (element: Element): string =>
    ['status', 'alert', 'log'].flatMap((role) => allByRole(element.shadowRoot!, role).map(textOf)).join('');

  test('can be read while all is well, and is not read out, however often it changes', async () => {
    const element = await staged('mh-masthead', { keeping: { state: 'kept' } });
    expect(textOf(element.shadowRoot!)).toContain('kept on this computer');
    expect(element.shadowRoot!.querySelector('svg.query')).toBeNull();
    expect(announced(element)).toBe('');
    element.keeping = { state: 'saving' };
    await settled(element);
    expect(textOf(element.shadowRoot!)).toContain('being written down');
    expect(announced(element)).toBe('');
  });

  test('carries the query sign where nothing is kept, and says why in a place that was there before', async () => {
    const element = await staged('mh-masthead', { keeping: { state: 'kept' } });
    const place = byRole(element.shadowRoot!, 'alert', '');
    element.keeping = { state: 'not-kept', reason: 'storage-blocked' };
    await settled(element);
    expect(byRole(element.shadowRoot!, 'alert', /./)).toBe(place);
    expect(textOf(place)).toMatch(/^not kept: another window/);
    expect(textOf(element.shadowRoot!).match(/not kept/g)).toHaveLength(1);
    expect(element.shadowRoot!.querySelector('svg.query')).not.toBeNull();
  });
});

test('the look that holds is pressed, and the other can be', async () => {
  const element = await staged('mh-masthead', { theme: 'slate' });
  const asks = asksOf(element);
  const pressed = ['Paper', 'Slate'].map((name) =>
    byRole(element.shadowRoot!, 'button', name).getAttribute('aria-pressed'),
  );
  expect(pressed).toEqual(['false', 'true']);
  byRole(element.shadowRoot!, 'button', 'Paper').click();
  expect(asks).toEqual([{ type: 'choose-theme', theme: 'paper' }]);
});
