import { expect, test, vi } from 'vitest';
import '../../../src/ui/elements/input.js';
import { byRole, textOf } from '../support/roles.js';
import { settled, staged } from '../support/stage.js';
import { OPEN_SOUND } from '../support/harbour-ferry.js';

vi.mock('../../../src/ui/words-trouble.js', () => {
  throw new TypeError('Failed to fetch dynamically imported module');
});

test('where the words for a refusal do not load, that is said, and another try is offered all the same', async () => {
  const element = await staged('mh-input', { sound: { state: 'refused', reason: 'input-in-use' } });
  expect(textOf(byRole(element.shadowRoot!, 'alert', /./))).toBe(
    'That part of the page did not load. Reload it; what is kept stays kept.',
  );
  expect(textOf(byRole(element.shadowRoot!, 'button', 'Try again'))).toBe('Try again');
  element.sound = OPEN_SOUND;
  await settled(element);
  expect(textOf(byRole(element.shadowRoot!, 'alert', ''))).toBe('');
});
