import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/masthead.js';
import { byRole, textOf } from '../support/roles.js';
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
  test('is said quietly while all is well', async () => {
    const element = await staged('mh-masthead', { keeping: { state: 'kept' } });
    expect(textOf(byRole(element.shadowRoot!, 'status', /./))).toBe('kept on this computer');
    expect(element.shadowRoot!.querySelector('svg.query')).toBeNull();
  });

  test('carries the query sign where nothing is kept, and says why', async () => {
    const element = await staged('mh-masthead', { keeping: { state: 'not-kept', reason: 'storage-blocked' } });
    expect(textOf(byRole(element.shadowRoot!, 'status', /./))).toMatch(/^not kept: another window/);
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
