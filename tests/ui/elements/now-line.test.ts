import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/now-line.js';
import type { NowLineElement } from '../../../src/ui/elements/now-line.js';
import { allByRole, byRole, everything, nameOf, textOf } from '../support/roles.js';
import { asksOf, settled, staged } from '../support/stage.js';
import { READY } from '../support/harbour-ferry.js';

const LAYERING = {
  state: 'layering',
  bar: 3,
  bars: 4,
  layerName: 'Shaker',
  next: 'loop-plays',
  pressMeans: 'go-round-again',
} as const;

const nowLine = (change: Partial<NowLineElement> = {}): Promise<NowLineElement> =>
  staged('mh-now-line', { transport: LAYERING, ...change });
const button = (element: NowLineElement, name: string | RegExp): HTMLButtonElement =>
  byRole(element.shadowRoot!, 'button', name) as HTMLButtonElement;
const announced = (element: NowLineElement): string =>
  textOf(everything(element.shadowRoot!).find((each) => each.matches('p[role=status]'))!);

describe('words', () => {
  test('say what is happening and what happens next', async () => {
    const text = textOf((await nowLine()).shadowRoot!);
    expect(text).toContain('Layering Shaker · bar 3 of 4');
    expect(text).toContain('Then the loop plays; the pass closes itself at the bar line.');
  });

  test('are announced when the state changes, and not with every bar', async () => {
    const element = await nowLine();
    const before = announced(element);
    element.transport = { ...LAYERING, bar: 4 };
    await settled(element);
    expect(announced(element)).toBe(before);
    expect(before).not.toMatch(/bar 3/);
    element.transport = { ...READY, state: 'playing', bar: 1, bars: 4, next: 'plays-on', pressMeans: 'new-layer' };
    await settled(element);
    expect(announced(element)).toBe('Playing. It goes round until you stop it.');
  });

  test.each([
    ['stopped', READY],
    ['layering', LAYERING],
  ])('stand beside a shape of their own, not a colour: %s', async (_, transport) => {
    const element = await nowLine({ transport });
    expect(element.shadowRoot!.querySelector('svg.state')?.children.length).toBeGreaterThan(0);
  });
});

describe('the one switch', () => {
  test.each([
    ['record', 'Record'],
    ['play', 'Play'],
    ['take-it-back', 'Take it back'],
    ['new-layer', 'Record a new layer'],
    ['close-the-loop', 'Close the loop'],
    ['go-round-again', 'Go round again'],
    ['do-not-go-round', 'Don’t go round'],
  ] as const)('that would %s says "%s", ringed, with its key', async (pressMeans, name) => {
    const element = await nowLine({ transport: { ...LAYERING, pressMeans } });
    expect(button(element, name).querySelector('svg.ring')).not.toBeNull();
    expect(button(element, name).getAttribute('aria-keyshortcuts')).toBe('Space PageDown');
    expect(element.shadowRoot!.querySelectorAll('svg.ring')).toHaveLength(1);
  });

  test('is pressed when the pointer goes down, once, at that moment', async () => {
    const element = await nowLine();
    const asks = asksOf(element);
    const down = new PointerEvent('pointerdown', { button: 0 });
    button(element, 'Go round again').dispatchEvent(down);
    button(element, 'Go round again').dispatchEvent(new MouseEvent('click'));
    expect(asks).toEqual([{ type: 'press', timeStamp: down.timeStamp }]);
  });

  test('is not pressed by another button of the mouse', async () => {
    const element = await nowLine();
    const asks = asksOf(element);
    button(element, 'Go round again').dispatchEvent(new PointerEvent('pointerdown', { button: 2 }));
    expect(asks).toEqual([]);
  });
});

describe('the plain actions', () => {
  const edit = { type: 'set-click', on: true } as const;

  test('each show their key', async () => {
    const element = await nowLine({ canTakeBack: edit, canPutBack: edit });
    const keys = ['Take back', /^Put back/, 'Click off', 'Stop'].map((name) =>
      button(element, name).getAttribute('aria-keyshortcuts'),
    );
    expect(keys).toEqual(['Backspace PageUp', 'Shift+Backspace', 'K', 'Escape']);
    expect([...element.shadowRoot!.querySelectorAll('.plain kbd')].map((kbd) => kbd.textContent)).toEqual([
      '⌫',
      '⇧ ⌫',
      'K',
      'Esc',
    ]);
  });

  test('ask for what they say', async () => {
    const element = await nowLine({ canTakeBack: edit, canPutBack: edit });
    const asks = asksOf(element);
    for (const name of ['Take back', /^Put back/, 'Click off', 'Stop']) button(element, name).click();
    expect(asks.map((ask) => ask.type)).toEqual(['take-back', 'put-back', 'turn-click', 'stop']);
  });

  test('say what they would take back or put back', async () => {
    const element = await nowLine({ transport: READY, canTakeBack: { type: 'retitle', title: 'x' }, canPutBack: edit });
    expect([/^Take back/, /^Put back/].map((name) => nameOf(button(element, name)))).toEqual([
      'Take back: the title',
      'Put back: click on',
    ]);
  });

  test('that would do nothing are off', async () => {
    const element = await nowLine({ transport: READY });
    expect(['Take back', 'Put back', 'Stop', 'Click off'].map((name) => button(element, name).disabled)).toEqual([
      true,
      true,
      true,
      false,
    ]);
  });

  test('while a pass runs it can always be taken back', async () => {
    expect(button(await nowLine({ canTakeBack: null }), 'Take back').disabled).toBe(false);
  });

  test('the click is turned on where it is off', async () => {
    const element = await nowLine({ clickOn: false });
    const asks = asksOf(element);
    button(element, 'Click on').click();
    expect(asks).toEqual([{ type: 'turn-click' }]);
  });
});

describe('a notice', () => {
  test('is read out, and goes away when it was read', async () => {
    const element = await nowLine({ notice: { type: 'layer-kept', name: 'Tune', bars: 4 } });
    const asks = asksOf(element);
    expect(allByRole(element.shadowRoot!, 'status').map(textOf)).toContain('Tune is in, 4 bars.');
    button(element, 'All right').click();
    expect(asks).toEqual([{ type: 'dismiss-notice' }]);
  });

  test('carries the query sign only where it is a problem', async () => {
    const query = async (notice: NowLineElement['notice']): Promise<boolean> =>
      (await nowLine({ notice })).shadowRoot!.querySelector('svg.query') !== null;
    expect(await query({ type: 'edit-refused', reason: 'name-empty' })).toBe(true);
    expect(await query({ type: 'layer-kept', name: 'Tune', bars: 4 })).toBe(false);
  });
});
