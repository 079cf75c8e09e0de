import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/chart.js';
import '../../../src/ui/elements/trip-marks.js';
import type { ChartElement } from '../../../src/ui/elements/chart.js';
import type { Stave } from '../../../src/ui/elements/stave.js';
import type { LeaveMarkEvent, RetakeEvent, TripMarkElement } from '../../../src/ui/elements/trip-mark.js';
import type { LayerMark } from '../../../src/ui/elements/trip-marks.js';
import { asId, type LayerId } from '../../../src/core/song/ids.js';
import { bars, frames, sampleRate } from '../../../src/core/units/index.js';
import type { TripMark } from '../../../src/core/watch/alignments.js';
import { allByRole, byRole, nameOf, textOf } from '../support/roles.js';
import { asksOf, keyDown, leaveFocus, settled, staged, type } from '../support/stage.js';

const BASS = asId<LayerId>('bass');
const RATE = sampleRate(48_000);

const PUT_RIGHT: TripMark = {
  bar: bars(2),
  lastBar: bars(2),
  duringPass: true,
  kind: 'output-gap',
  shift: frames(312),
  how: 'read',
  within: frames(24),
};
const UNSURE: TripMark = { ...PUT_RIGHT, kind: 'gaps-together', shift: null, how: 'unknown', within: frames(0) };
const BEING_READ: TripMark = { ...UNSURE, kind: 'being-read' };

const marked = (mark: TripMark, drawn: Partial<TripMarkElement> = {}): Promise<TripMarkElement> =>
  staged('mh-trip-mark', { mark, bar: 2, layer: BASS, layerName: 'Bass', rate: RATE, ...drawn });
const sign = (element: TripMarkElement): HTMLElement =>
  byRole(element.shadowRoot!, 'button', /^Bass, bar 3(, round 2)?: /);
const buttons = (element: TripMarkElement): readonly string[] => allByRole(element.shadowRoot!, 'button').map(nameOf);

async function opened(mark: TripMark, drawn: Partial<TripMarkElement> = {}): Promise<TripMarkElement> {
  const element = await marked(mark, drawn);
  sign(element).focus();
  sign(element).click();
  await settled(element);
  return element;
}

describe('the sign', () => {
  test.each([
    [PUT_RIGHT, 'svg.caret', 'put right'],
    [UNSURE, 'svg.query', 'place unsure'],
    [BEING_READ, 'svg.caret', 'being read'],
  ])('of %o is %s, called %s', async (mark, drawing, words) => {
    const element = await marked(mark);
    expect(element.shadowRoot!.querySelector(drawing)).not.toBeNull();
    expect(nameOf(sign(element))).toBe(`Bass, bar 3: ${words}`);
  });

  test('is a button that opens a dialog of the same name', async () => {
    const element = await opened(UNSURE);
    expect(sign(element).getAttribute('aria-expanded')).toBe('true');
    expect(byRole(element.shadowRoot!, 'dialog', 'Bass, bar 3: place unsure')).toBeDefined();
  });
});

describe('its slip', () => {
  test('says what happened and what was done, and the focus is on it', async () => {
    const element = await opened(PUT_RIGHT);
    expect(textOf(element)).toContain('The output had a gap here');
    expect(textOf(element)).toContain('Moved 312 frames (6.5 ms) earlier from here on');
    expect(textOf(element.shadowRoot!.activeElement!)).toContain('The output had a gap here');
  });

  test('goes on Escape, and the focus goes back', async () => {
    const element = await opened(UNSURE);
    keyDown(element.shadowRoot!.activeElement!, 'Escape');
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
    expect(element.shadowRoot!.activeElement).toBe(sign(element));
  });

  test.each([
    ['put right', PUT_RIGHT, ['Move it', 'Make the next pass another take', 'Leave it']],
    ['unsure', UNSURE, ['Move it', 'Make the next pass another take', 'Check now', 'Leave it']],
    ['being read', BEING_READ, ['Leave it']],
  ] as const)('offers what can be done where it is %s', async (_, mark, offers) => {
    expect(buttons(await opened(mark)).slice(1)).toEqual(offers);
  });

  test('another take is asked for by layer', async () => {
    const element = await opened(UNSURE);
    const heard: unknown[] = [];
    element.addEventListener('mh-retake', ({ layer }: RetakeEvent) => heard.push(layer));
    byRole(element.shadowRoot!, 'button', 'Make the next pass another take').click();
    await settled(element);
    expect(heard).toEqual([BASS]);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
  });

  test('leaving it is told with the mark', async () => {
    const element = await opened(UNSURE);
    const heard: unknown[] = [];
    element.addEventListener('mh-leave-mark', ({ layer, mark }: LeaveMarkEvent) => heard.push([layer, mark]));
    byRole(element.shadowRoot!, 'button', 'Leave it').click();
    expect(heard).toEqual([[BASS, UNSURE]]);
  });

  test('a check is asked for the way it is made here, with what must be ready for it', async () => {
    const element = await opened(UNSURE);
    const asks = asksOf(element);
    const check = byRole(element.shadowRoot!, 'button', 'Check now');
    const hint = element.shadowRoot!.getElementById(check.getAttribute('aria-describedby') ?? '')!;
    expect(textOf(hint)).toMatch(/^Headphones off your ears/);
    check.click();
    expect(asks).toEqual([{ type: 'check', way: 'air' }]);
  });

  test.each([
    ['6,5', 6.5],
    ['-12.25', -12.25],
  ])('moving by "%s" is asked for in milliseconds', async (text, ms) => {
    const element = await opened(UNSURE);
    const asks = asksOf(element);
    leaveFocus();
    keyDown(byRole(element.shadowRoot!, 'spinbutton', /move it earlier by$/), 'Enter');
    await settled(element);
    const field = byRole(element.shadowRoot!, 'textbox', /move it earlier by$/);
    type(field, text);
    keyDown(field, 'Enter');
    await settled(element);
    byRole(element.shadowRoot!, 'button', 'Move it').click();
    expect(asks).toEqual([{ type: 'realign-from', layer: BASS, bar: 2, ms }]);
  });

  test('nothing is checked where the sound was still settling: no check helps', async () => {
    expect(buttons(await opened({ ...UNSURE, kind: 'opening' })).slice(1)).toEqual([
      'Move it',
      'Make the next pass another take',
      'Leave it',
    ]);
  });

  test('in a later round of the section says so, and moves and leaves the take by its own bar', async () => {
    const mark = { ...UNSURE, bar: bars(10), lastBar: bars(10), shift: frames(480) };
    const element = await opened(mark, { bar: 2, round: 2 });
    const asks = asksOf(element);
    const left: unknown[] = [];
    element.addEventListener('mh-leave-mark', (event: LeaveMarkEvent) => left.push(event.mark));
    expect(textOf(element)).toContain('Round 2 of the section. The output had gaps here');
    expect(nameOf(sign(element))).toBe('Bass, bar 3, round 2: place unsure');
    byRole(element.shadowRoot!, 'button', 'Move it').click();
    expect(asks).toEqual([{ type: 'realign-from', layer: BASS, bar: 10, ms: 10 }]);
    sign(element).click();
    await settled(element);
    byRole(element.shadowRoot!, 'button', 'Leave it').click();
    expect(left).toEqual([mark]);
  });

  test('moving by nothing asks for nothing', async () => {
    const element = await opened(UNSURE);
    const asks = asksOf(element);
    const move = byRole(element.shadowRoot!, 'button', 'Move it');
    expect(move.getAttribute('aria-disabled')).toBe('true');
    move.click();
    expect(asks).toEqual([]);
  });

  test('a figure that was not believed is where moving begins', async () => {
    const element = await opened({ ...UNSURE, shift: frames(-480) });
    expect(byRole(element.shadowRoot!, 'spinbutton', /move it/).getAttribute('aria-valuenow')).toBe('-10');
  });
});

describe('over a score', () => {
  const stave = (layer: LayerId, name: string): Stave => ({
    layer,
    name,
    ink: null,
    gain: 0,
    leftOut: false,
    unsure: false,
    live: false,
  });
  const DRUMS = asId<LayerId>('drums');

  async function score(marks: readonly LayerMark[]): Promise<ChartElement> {
    const element = await staged('mh-chart', {
      bars: 16,
      staves: [stave(DRUMS, 'Drums'), stave(BASS, 'Bass')],
      marks: { marks, rate: RATE, way: 'air' },
    });
    return element;
  }
  const over = (layer: LayerId, mark: TripMark): LayerMark => ({ layer, mark, bar: mark.bar, round: 1 });
  const names = (root: ParentNode): readonly string[] =>
    allByRole(root, 'button')
      .map(nameOf)
      .filter((name) => /, bar \d+(, round \d+)?: /.test(name));

  test('each mark stands on the line of its bar, in the order of the staves', async () => {
    const element = await score([
      over(BASS, UNSURE),
      over(BASS, { ...PUT_RIGHT, bar: bars(15), lastBar: bars(15) }),
      over(DRUMS, PUT_RIGHT),
    ]);
    const lines = [...element.shadowRoot!.querySelectorAll('mh-system')].map((system) => names(system.shadowRoot!));
    expect(lines.length).toBeGreaterThan(1);
    expect(lines[0]).toEqual(['Drums, bar 3: put right', 'Bass, bar 3: place unsure']);
    expect(lines.at(-1)).toEqual(['Bass, bar 16: put right']);
  });

  test('two over one bar stand beside each other', async () => {
    const element = await score([over(BASS, UNSURE), over(BASS, PUT_RIGHT)]);
    const system = element.shadowRoot!.querySelector('mh-system')!;
    const placed = [...system.shadowRoot!.querySelector('mh-trip-marks')!.shadowRoot!.querySelectorAll('mh-trip-mark')];
    const [first, second] = placed.map(({ style }) => [parseFloat(style.left), style.top] as const);
    expect(second![0] - first![0]).toBeGreaterThanOrEqual(20);
    expect(second![1]).toBe(first![1]);
  });

  test('a mark of a later round stands over the bar in which it sounds, after that of the first', async () => {
    const late = { ...UNSURE, bar: bars(18), lastBar: bars(18) };
    const element = await score([{ layer: BASS, mark: late, bar: bars(2), round: 2 }, over(BASS, PUT_RIGHT)]);
    expect(names(element.shadowRoot!.querySelector('mh-system')!.shadowRoot!)).toEqual([
      'Bass, bar 3: put right',
      'Bass, bar 3, round 2: place unsure',
    ]);
  });

  test('a mark of a layer that is not there is not drawn', async () => {
    expect(names((await score([over(asId<LayerId>('gone'), UNSURE)])).shadowRoot!)).toEqual([]);
  });
});
