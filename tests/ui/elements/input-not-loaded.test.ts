import { expect, test, vi } from 'vitest';
import '../../../src/ui/elements/input.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { settled, staged } from '../support/stage.js';
import { OPEN_SOUND } from '../support/harbour-ferry.js';

vi.mock('../../../src/ui/elements/sound-slip.js', () => {
  throw new TypeError('Failed to fetch dynamically imported module');
});

test('a slip that does not load is told of, and everything else stays as it was', async () => {
  const element = await staged('mh-input', { sound: OPEN_SOUND });
  byRole(element.shadowRoot!, 'button', /round trip/).click();
  await settled(element);
  expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
  expect(textOf(byRole(element.shadowRoot!, 'alert', /./))).toBe(
    'That part of the page did not load. Reload it; what is kept stays kept.',
  );
  expect(byRole(element.shadowRoot!, 'button', /round trip/).getAttribute('aria-expanded')).toBe('false');
});
