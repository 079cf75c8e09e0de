import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/round-trip.js';
import type { RoundTripElement } from '../../../src/ui/elements/round-trip.js';
import { decibels, frames, milliseconds } from '../../../src/core/units/index.js';
import type { MeasuringRefusal } from '../../../src/rehearsal/round-trip-view.js';
import type { RoundTripView } from '../../../src/rehearsal/round-trip-view.js';
import { CAUTION_BEFORE_SOUND, EXPLAINED } from '../../../src/ui/words-sound.js';
import { allByRole, byRole, nameOf, textOf } from '../support/roles.js';
import { asksOf, keyDown, settled, staged, type } from '../support/stage.js';
import { ESTIMATE, OPEN_SOUND } from '../support/harbour-ferry.js';

const MEASURED: RoundTripView = {
  ...ESTIMATE,
  how: 'measured',
  sure: true,
  measuredAt: '2025-03-01',
  isFresh: true,
  advice: { type: 'nothing' },
};

const shown = (trip: Partial<RoundTripView> | null = {}): Promise<RoundTripElement> =>
  staged('mh-round-trip', { sound: OPEN_SOUND, trip: trip === null ? null : { ...ESTIMATE, ...trip } });
const refused = (why: MeasuringRefusal, level = -36): Promise<RoundTripElement> =>
  shown({ outcome: { type: 'refused', kind: 'whole', why }, level: decibels(level) });
const button = (element: RoundTripElement, name: string): HTMLElement => byRole(element.shadowRoot!, 'button', name);
const buttons = (element: RoundTripElement): readonly string[] => allByRole(element.shadowRoot!, 'button').map(nameOf);
const radio = (element: RoundTripElement, name: RegExp): HTMLInputElement =>
  byRole(element.shadowRoot!, 'radio', name) as HTMLInputElement;

describe('what it is taken for', () => {
  test('is said in milliseconds and in frames, with how it is known and how surely', async () => {
    expect(textOf(await shown())).toMatch(
      /78 ms .*3744 frames, an estimate from the browser’s own figures\. It may be tens of milliseconds out\./,
    );
    expect(textOf(await shown(MEASURED))).toMatch(/measured on 1 March 2025\. Certain to the frame\./);
  });

  test.each([
    ['75,5', 75.5],
    ['0', 0],
    ['', null],
  ])('written as "%s" is stated as %s', async (text, ms) => {
    const element = await shown();
    const asks = asksOf(element);
    keyDown(byRole(element.shadowRoot!, 'spinbutton', 'round trip'), 'Enter');
    await settled(element);
    const field = byRole(element.shadowRoot!, 'textbox', 'round trip');
    type(field, text);
    keyDown(field, 'Enter');
    expect(asks).toEqual([{ type: 'state-round-trip', ms }]);
  });

  test('can be stated where nothing watches over it, and no more than that', async () => {
    const element = await shown(null);
    expect(byRole(element.shadowRoot!, 'spinbutton', 'round trip').getAttribute('aria-valuetext')).toBe(
      '78 ms, an estimate',
    );
    expect(buttons(element)).toEqual([]);
  });

  test('is explained, and the caution stands before what sounds', async () => {
    const text = textOf(await shown());
    expect(text).toContain(EXPLAINED);
    expect(EXPLAINED.match(/\.( |$)/g)).toHaveLength(2);
    expect(text.indexOf(CAUTION_BEFORE_SOUND)).toBeGreaterThan(0);
    expect(text.indexOf(CAUTION_BEFORE_SOUND)).toBeLessThan(text.lastIndexOf('Measure'));
  });

  test('advice comes in a place that was there before', async () => {
    const element = await shown(MEASURED);
    const place = element.shadowRoot!.querySelector('.advice')!;
    expect([place.getAttribute('role'), textOf(place)]).toEqual(['status', '']);
    element.trip = { ...MEASURED, advice: { type: 'check-now' } };
    await settled(element);
    expect(element.shadowRoot!.querySelector('.advice')).toBe(place);
    expect(textOf(place)).toContain('a check takes a second');
  });
});

describe('the two ways', () => {
  test('each is a picture with words of its own, and one is chosen', async () => {
    const element = await shown();
    const pictures = [...element.shadowRoot!.querySelectorAll('svg[role=img]')].map((svg) =>
      svg.getAttribute('aria-label'),
    );
    expect(pictures).toHaveLength(2);
    for (const words of pictures) expect(words).toMatch(/^Picture: .+\.$/);
    expect([radio(element, /cable/).checked, radio(element, /earpiece/).checked]).toEqual([true, false]);
  });

  test('a round trip that was measured through the air is measured so again', async () => {
    expect(radio(await shown(MEASURED), /earpiece/).checked).toBe(true);
  });

  test('the one chosen is the one that is measured and checked by', async () => {
    const element = await shown({ ...MEASURED, how: 'cable' });
    const asks = asksOf(element);
    radio(element, /earpiece/).click();
    await settled(element);
    button(element, 'Measure').click();
    button(element, 'Check, 1 second').click();
    expect(asks).toEqual([
      { type: 'measure', way: 'air', level: -36 },
      { type: 'check', way: 'air' },
    ]);
  });

  test('an estimate can be measured; there is nothing to check it against', async () => {
    expect(buttons(await shown())).toEqual(['Measure']);
  });
});

describe('while it is measured', () => {
  test('how far it has come is said in a place that was there before, and it can be left', async () => {
    const element = await shown();
    const place = element.shadowRoot!.querySelector('.going')!;
    expect([place.getAttribute('role'), textOf(place)]).toEqual(['status', '']);
    element.trip = { ...ESTIMATE, measuring: { state: 'settling', seconds: 9 } };
    await settled(element);
    expect(element.shadowRoot!.querySelector('.going')).toBe(place);
    expect(textOf(place)).toBe('Letting it settle: 9 seconds more');
    expect(buttons(element)).toEqual(['Leave it']);
    const asks = asksOf(element);
    button(element, 'Leave it').click();
    expect(asks).toEqual([{ type: 'leave-measuring' }]);
  });

  test('the focus goes from measuring to leaving it, and back', async () => {
    const element = await shown();
    button(element, 'Measure').focus();
    element.trip = { ...ESTIMATE, measuring: { state: 'searching' } };
    await settled(element);
    expect(element.shadowRoot!.activeElement).toBe(button(element, 'Leave it'));
    element.trip = ESTIMATE;
    await settled(element);
    expect(element.shadowRoot!.activeElement).toBe(button(element, 'Measure'));
  });
});

describe('what came of it', () => {
  test('is said in a place that was there before', async () => {
    const element = await shown();
    const place = element.shadowRoot!.querySelector('.outcome')!;
    expect([place.getAttribute('role'), textOf(place)]).toEqual(['status', '']);
    element.trip = {
      ...MEASURED,
      outcome: { type: 'checked', movedBy: frames(312), ms: milliseconds(84.5), isUsed: true },
    };
    await settled(element);
    expect(element.shadowRoot!.querySelector('.outcome')).toBe(place);
    expect(textOf(place)).toBe('It had become longer by 312 frames (6.5 ms). From now on it is 84.5 ms.');
  });

  test('a refusal carries the proofreader’s sign', async () => {
    const element = await refused({ type: 'silence', peak: decibels(-98) });
    const place = element.shadowRoot!.querySelector('.outcome')!;
    expect(textOf(place)).toMatch(/^Nothing came back/);
    expect(place.querySelector('svg.query')).not.toBeNull();
  });

  test('where a louder hiss helps it is offered, a step and no further than it may go', async () => {
    const element = await refused({ type: 'too-weak', prominence: 2 });
    const asks = asksOf(element);
    button(element, 'A little louder').click();
    const near = await refused({ type: 'too-weak', prominence: 2 }, -15);
    const nearly = asksOf(near);
    button(near, 'A little louder').click();
    expect([...asks, ...nearly]).toEqual([
      { type: 'measure', way: 'cable', level: -30 },
      { type: 'measure', way: 'cable', level: -12 },
    ]);
    expect(buttons(await refused({ type: 'too-weak', prominence: 2 }, -12))).not.toContain('A little louder');
    expect(buttons(await refused({ type: 'clipped', fullScale: 9, flatTops: 9 }))).not.toContain('A little louder');
  });

  test('what came back on another input offers that one', async () => {
    const element = await refused({ type: 'wrong-channel', channel: 1, frames: frames(3744), level: decibels(-40) });
    const asks = asksOf(element);
    button(element, 'Use input 2').click();
    expect(asks).toEqual([{ type: 'use-channel', channel: 1 }]);
  });
});
