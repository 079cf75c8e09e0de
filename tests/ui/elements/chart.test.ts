import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/chart.js';
import type { ChartElement } from '../../../src/ui/elements/chart.js';
import type { Stave } from '../../../src/ui/elements/stave.js';
import { asId, type LayerId } from '../../../src/core/song/ids.js';
import { allByRole, byRole, everything, textOf } from '../support/roles.js';
import { asksOf, keyDown, settled, staged, type } from '../support/stage.js';
import { inkOf, type PartName } from '../support/harbour-ferry.js';

const stave = (name: string, part: PartName, change: Partial<Stave> = {}): Stave => ({
  layer: asId<LayerId>(name),
  name,
  ink: inkOf(part, 4),
  gain: 0,
  leftOut: false,
  unsure: false,
  live: false,
  ...change,
});
const BAND: readonly Stave[] = [
  stave('Drums', 'drums'),
  stave('Bass', 'bass', { gain: -3 }),
  stave('Tune', 'tune', { leftOut: true }),
];
const HAND = stave('Shaker', 'shaker', { layer: null, live: true, ink: inkOf('shaker', 4, 2.6) });

const chart = (change: Partial<ChartElement> = {}): Promise<ChartElement> =>
  staged('mh-chart', { bars: 4, closed: true, staves: BAND, ...change });

const all = (element: ChartElement, selector: string): readonly Element[] =>
  everything(element.shadowRoot!).filter((each) => each.matches(selector));
const numbers = (element: ChartElement): readonly string[] => all(element, '.number').map((text) => text.textContent);

describe('the staves', () => {
  test('are a list of layers, each with its ink and its margin in words', async () => {
    const element = await chart();
    const read = allByRole(element.shadowRoot!, 'listitem').map(textOf);
    expect(read).toEqual([
      'Drums 4 bars, 32 attacks change',
      'Bass 4 bars, 8 attacks −3',
      'Tune 4 bars, 16 attacks left out',
    ]);
  });

  test('draw their ink in one path each, and whole rests where a layer is left out', async () => {
    const element = await chart();
    expect(all(element, '.ink').map((path) => (path.getAttribute('d') ?? '').length > 0)).toEqual([true, true]);
    expect(all(element, '.rest')).toHaveLength(4);
    expect(all(element, 'mh-name.out')).toHaveLength(1);
  });

  test('say when a layer is still being read', async () => {
    const element = await chart({ staves: [stave('Bass', 'bass', { ink: null })] });
    expect(textOf(allByRole(element.shadowRoot!, 'listitem')[0]!)).toContain('4 bars, being read');
  });

  test('end with the part in hand, in pencil, which is no layer yet', async () => {
    const element = await chart({ staves: [...BAND, HAND] });
    const last = allByRole(element.shadowRoot!, 'listitem').at(-1)!;
    expect(textOf(last)).toBe('Shaker the part in hand, 21 attacks so far');
    expect(allByRole(last, 'button')).toEqual([]);
    expect(all(element, '.ink.live')).toHaveLength(1);
  });

  test('a layer is renamed where it stands', async () => {
    const element = await chart();
    const asks = asksOf(element);
    byRole(element.shadowRoot!, 'button', 'Drums').click();
    await settled(element);
    const field = byRole(element.shadowRoot!, 'textbox', 'Name of the layer');
    type(field, 'Brushes');
    keyDown(field, 'Enter');
    expect(asks).toEqual([{ type: 'rename-layer', layer: 'Drums', name: 'Brushes' }]);
  });
});

describe('the bars', () => {
  test('are numbered, and wrap into systems like lines of music', async () => {
    const element = await chart({ bars: 6 });
    expect(numbers(element)).toEqual(['1', '2', '3', '4', '5', '6', 'open']);
    expect(all(element, 'mh-system')).toHaveLength(2);
  });

  test('of a length that is decided stand between repeat signs, open above the closing one', async () => {
    const element = await chart();
    expect(all(element, '.heavy')).toHaveLength(2);
    expect(all(element, '.dot')).toHaveLength(2 * 2 * BAND.length);
    expect(numbers(element).at(-1)).toBe('open');
  });

  test('of an open length have no closing line: the staves go on', async () => {
    const element = await chart({ closed: false });
    expect(all(element, '.heavy')).toHaveLength(0);
    expect(all(element, '.stave.open')).toHaveLength(BAND.length);
    expect(numbers(element)).not.toContain('open');
  });

  test('name their layers to the reader once, however many systems there are', async () => {
    const element = await chart({ bars: 16 });
    expect(allByRole(element.shadowRoot!, 'listitem')).toHaveLength(BAND.length);
    expect(allByRole(element.shadowRoot!, 'button').filter((button) => textOf(button) === 'Drums')).toHaveLength(1);
  });
});

describe('what moves', () => {
  const at = (bar: number | null, barPhase = 0.5) =>
    ({ through: null, bar, barPhase, beat: 2, beatPhase: 0.5, inputPeak: null }) as const;
  const shown = (element: ChartElement, selector: string): readonly number[] =>
    all(element, selector).flatMap((each, line) => (each.hasAttribute('hidden') ? [] : [line]));
  const x = (element: ChartElement, line: number): number =>
    Number(/translate\(([\d.]+)px/.exec((all(element, '.baton')[line] as HTMLElement).style.transform)?.[1]);

  test('is hidden while nothing plays', async () => {
    const element = await chart();
    element.point(at(null), false);
    expect(['.baton', '.bar-in-hand', '.pen'].map((each) => shown(element, each))).toEqual([[], [], []]);
  });

  test('walks above the bar that is played, on the line where that bar is', async () => {
    const element = await chart({ bars: 8 });
    element.point(at(1, 0.2), false);
    const first = x(element, 0);
    element.point(at(1, 0.4), false);
    expect(x(element, 0)).toBeGreaterThan(first);
    expect(shown(element, '.baton')).toEqual([0]);
    element.point(at(6), false);
    expect(shown(element, '.baton')).toEqual([1]);
    expect(shown(element, '.bar-in-hand')).toEqual([1]);
  });

  test('brings its line into view when it comes to another one, and not before', async () => {
    const element = await chart({ bars: 8 });
    const shownTo: number[] = [];
    for (const [line, system] of all(element, 'mh-system').entries()) system.scrollIntoView = () => shownTo.push(line);
    element.point(at(0), false);
    element.point(at(3), false);
    expect(shownTo).toEqual([]);
    element.point(at(4), false);
    element.point(at(5), false);
    expect(shownTo).toEqual([1]);
    element.point(at(0), false);
    expect(shownTo).toEqual([1, 0]);
  });

  test('has a pen tip only where something is being recorded', async () => {
    const element = await chart({ staves: [...BAND, HAND] });
    element.point(at(1), false);
    expect(shown(element, '.pen')).toEqual([]);
    const recording = await chart({ staves: [...BAND, HAND], writing: true });
    recording.point(at(1), false);
    expect(shown(recording, '.pen')).toEqual([0]);
  });

  test('steps from beat to beat and does not hop where the player wants it calm', async () => {
    const element = await chart();
    const places = [0.5, 0.6, 0.74].map((phase) => {
      element.point(at(1, phase), true);
      return (all(element, '.baton')[0] as HTMLElement).style.transform;
    });
    expect(new Set(places).size).toBe(1);
    expect(places[0]).toMatch(/, -?0px\)$/);
  });

  test('draws nothing again', async () => {
    const element = await chart({ bars: 8 });
    const before = all(element, '.ink').map((path) => path.getAttribute('d'));
    element.point(at(6), false);
    expect(element.isUpdatePending).toBe(false);
    expect(
      all(element, 'mh-system').some((system) => (system as Element & { isUpdatePending: boolean }).isUpdatePending),
    ).toBe(false);
    expect(all(element, '.ink').map((path) => path.getAttribute('d'))).toEqual(before);
  });

  test('is hidden beyond the bars that are drawn', async () => {
    const element = await chart();
    element.point(at(4), false);
    expect(shown(element, '.baton')).toEqual([]);
  });
});
