import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/margin.js';
import type { MarginElement } from '../../../src/ui/elements/margin.js';
import type { LayerStave } from '../../../src/ui/elements/stave.js';
import { asId, type LayerId } from '../../../src/core/song/ids.js';
import { allByRole, byRole, nameOf, textOf } from '../support/roles.js';
import { asksOf, keyDown, settled, staged } from '../support/stage.js';

const BASS: LayerStave = {
  layer: asId<LayerId>('bass'),
  name: 'Bass',
  ink: null,
  gain: 0,
  leftOut: false,
  unsure: false,
  live: false,
};

const margin = (change: Partial<LayerStave> = {}): Promise<MarginElement> =>
  staged('mh-margin', { stave: { ...BASS, ...change } });
const note = (element: MarginElement): HTMLElement => byRole(element.shadowRoot!, 'button', /^Bass: /);

describe('what is written', () => {
  test.each([
    [{}, 'change', 'plain'],
    [{ gain: -3 }, '−3', 'note'],
    [{ leftOut: true }, 'left out', 'note'],
    [{ unsure: true }, 'place unsure', 'note'],
  ])('for %o is "%s"', async (change, text, part) => {
    const element = await margin(change);
    expect([textOf(note(element)), note(element).getAttribute('part')]).toEqual([text, part]);
  });

  test('is read out with the name of the layer', async () => {
    expect(nameOf(note(await margin({ gain: -3 })))).toBe('Bass: −3. change');
  });

  test('carries the query sign where the place is unsure', async () => {
    expect((await margin({ unsure: true })).shadowRoot!.querySelector('svg.query')).not.toBeNull();
    expect((await margin()).shadowRoot!.querySelector('svg.query')).toBeNull();
  });
});

describe('keys on it', () => {
  test.each([
    ['l', {}, {}, { type: 'leave-out', layer: 'bass', out: true }],
    ['L', { shift: true }, { leftOut: true }, { type: 'leave-out', layer: 'bass', out: false }],
    ['ArrowUp', {}, {}, { type: 'set-layer-gain', layer: 'bass', gain: 1 }],
    ['ArrowDown', {}, { gain: -3 }, { type: 'set-layer-gain', layer: 'bass', gain: -4 }],
    ['ArrowDown', { shift: true }, {}, { type: 'set-layer-gain', layer: 'bass', gain: -0.5 }],
    ['ArrowUp', {}, { gain: 12 }, { type: 'set-layer-gain', layer: 'bass', gain: 12 }],
  ])('%s %o on %o', async (key, options, change, ask) => {
    const element = await margin(change);
    const asks = asksOf(element);
    keyDown(note(element), key, options);
    expect(asks).toEqual([ask]);
  });

  test('that repeat leave nothing out', async () => {
    const element = await margin();
    const asks = asksOf(element);
    keyDown(note(element), 'l', { repeat: true });
    expect(asks).toEqual([]);
  });
});

describe('a press', () => {
  async function opened(change: Partial<LayerStave> = {}): Promise<MarginElement> {
    const element = await margin(change);
    note(element).click();
    await settled(element);
    return element;
  }

  test('opens a slip named after the layer', async () => {
    expect(allByRole((await opened()).shadowRoot!, 'dialog').map(nameOf)).toEqual(['Bass']);
  });

  test.each([
    ['quieter', { type: 'set-layer-gain', layer: 'bass', gain: -4 }],
    ['louder', { type: 'set-layer-gain', layer: 'bass', gain: -2 }],
    ['Leave Bass out', { type: 'leave-out', layer: 'bass', out: true }],
  ])('there, %s asks', async (name, ask) => {
    const element = await opened({ gain: -3 });
    const asks = asksOf(element);
    byRole(element.shadowRoot!, 'button', name).click();
    expect(asks).toEqual([ask]);
  });

  test('there, the level is a spinbutton in decibels', async () => {
    const level = byRole((await opened({ gain: -3 })).shadowRoot!, 'spinbutton', 'Level');
    expect(level.getAttribute('aria-valuetext')).toBe('−3 decibels');
  });

  test('there, Escape closes it and gives the focus back', async () => {
    const element = await opened();
    keyDown(byRole(element.shadowRoot!, 'button', 'quieter'), 'Escape');
    await settled(element);
    expect(allByRole(element.shadowRoot!, 'dialog')).toEqual([]);
    expect(element.shadowRoot!.activeElement).toBe(note(element));
  });
});
