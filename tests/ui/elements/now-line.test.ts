import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/now-line.js';
import type { NowLineElement } from '../../../src/ui/elements/now-line.js';
import { byRole, everything, nameOf, textOf } from '../support/roles.js';
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
    button(element, 'Go round again').dispatchEvent(new MouseEvent('click', { detail: 1 }));
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
    const keys = ['Take back', /^Put back/, 'Keep that', 'Silence the click', 'Stop'].map((name) =>
      button(element, name).getAttribute('aria-keyshortcuts'),
    );
    expect(keys).toEqual(['Backspace PageUp', 'Shift+Backspace', 'Y', 'K', 'Escape']);
    expect([...element.shadowRoot!.querySelectorAll('.plain kbd')].map((kbd) => kbd.textContent)).toEqual([
      '⌫',
      '⇧ ⌫',
      'Y',
      'K',
      'Esc',
    ]);
  });

  test('ask for what they say', async () => {
    const element = await nowLine({ canTakeBack: edit, canPutBack: edit });
    const asks = asksOf(element);
    for (const name of ['Take back', /^Put back/, 'Silence the click', 'Stop']) button(element, name).click();
    expect(asks.map((ask) => ask.type)).toEqual(['take-back', 'put-back', 'turn-click', 'stop']);
  });

  test('keep what was just played, at that moment, while nothing is being recorded', async () => {
    const element = await nowLine({ transport: { ...READY, state: 'playing', pressMeans: 'new-layer' } });
    const asks = asksOf(element);
    const click = new MouseEvent('click');
    button(element, 'Keep that').dispatchEvent(click);
    expect(asks).toEqual([{ type: 'keep-that', timeStamp: click.timeStamp }]);
    element.transport = LAYERING;
    await settled(element);
    expect(button(element, 'Keep that').getAttribute('aria-disabled')).toBe('true');
  });

  test('say what they would take back or put back', async () => {
    const element = await nowLine({ transport: READY, canTakeBack: { type: 'retitle', title: 'x' }, canPutBack: edit });
    expect([/^Take back/, /^Put back/].map((name) => nameOf(button(element, name)))).toEqual([
      'Take back: the title',
      'Put back: the click brought in',
    ]);
  });

  test('that would do nothing are off', async () => {
    const element = await nowLine({ transport: READY });
    const asks = asksOf(element);
    const names = ['Take back', 'Put back', 'Stop', 'Silence the click'];
    expect(names.map((name) => button(element, name).getAttribute('aria-disabled'))).toEqual([
      'true',
      'true',
      'true',
      null,
    ]);
    for (const name of names) button(element, name).click();
    expect(asks.map((ask) => ask.type)).toEqual(['turn-click']);
  });

  test('keep the focus when they have nothing more to do', async () => {
    const element = await nowLine();
    button(element, 'Stop').focus();
    element.transport = READY;
    await settled(element);
    expect(element.shadowRoot!.activeElement).toBe(button(element, 'Stop'));
  });

  test('while a pass runs it can always be taken back', async () => {
    expect(button(await nowLine({ canTakeBack: null }), 'Take back').getAttribute('aria-disabled')).toBeNull();
  });

  test('the click is turned on where it is off', async () => {
    const element = await nowLine({ clickOn: false });
    const asks = asksOf(element);
    button(element, 'Bring the click in').click();
    expect(asks).toEqual([{ type: 'turn-click' }]);
  });
});

describe('a notice', () => {
  const KEPT = { type: 'layer-kept', name: 'Tune', bars: 4 } as const;
  const REFUSED = { type: 'edit-refused', reason: 'name-empty' } as const;
  const told = (element: NowLineElement, role: 'status' | 'alert'): HTMLElement =>
    element.shadowRoot!.querySelector<HTMLElement>(`.notice [role=${role}]`)!;

  test('can be sent away when it was read', async () => {
    const element = await nowLine({ notice: KEPT });
    const asks = asksOf(element);
    button(element, 'All right').click();
    expect(asks).toEqual([{ type: 'dismiss-notice' }]);
  });

  test.each([
    ['politely', 'status', KEPT, 'Tune is in, 4 bars.'],
    ['at once, where it is a problem', 'alert', REFUSED, 'A name needs a letter at least.'],
  ] as const)('is read out %s, in a place that was there before', async (_, role, notice, text) => {
    const element = await nowLine();
    const other = role === 'status' ? 'alert' : 'status';
    const place = told(element, role);
    expect([textOf(told(element, 'status')), textOf(told(element, 'alert'))]).toEqual(['', '']);
    element.notice = notice;
    await settled(element);
    expect(told(element, role)).toBe(place);
    expect([textOf(place), textOf(told(element, other))]).toEqual([text, '']);
    element.notice = null;
    await settled(element);
    expect(told(element, role)).toBe(place);
    expect(textOf(place)).toBe('');
  });

  test('is read out again when it is told again, and not when the page is only drawn again', async () => {
    const element = await nowLine({ notice: REFUSED });
    const first = told(element, 'alert').firstElementChild;
    element.clickOn = false;
    await settled(element);
    expect(told(element, 'alert').firstElementChild).toBe(first);
    element.notice = { ...REFUSED };
    await settled(element);
    expect(told(element, 'alert').firstElementChild).not.toBe(first);
    expect(textOf(told(element, 'alert'))).toBe('A name needs a letter at least.');
  });

  test('that goes away gives the focus it had to the switch', async () => {
    const element = await nowLine({ notice: KEPT });
    button(element, 'All right').focus();
    element.notice = null;
    await settled(element);
    expect(element.shadowRoot!.activeElement).toBe(button(element, 'Go round again'));
  });

  test('that goes away leaves the focus where it is otherwise', async () => {
    const element = await nowLine({ notice: KEPT });
    button(element, 'Stop').focus();
    element.notice = null;
    await settled(element);
    expect(element.shadowRoot!.activeElement).toBe(button(element, 'Stop'));
  });

  test('carries the query sign only where it is a problem', async () => {
    const query = async (notice: NowLineElement['notice']): Promise<boolean> =>
      (await nowLine({ notice })).shadowRoot!.querySelector('svg.query') !== null;
    expect(await query(REFUSED)).toBe(true);
    expect(await query(KEPT)).toBe(false);
  });
});
