import { describe, expect, test } from 'vitest';
import '../../../src/ui/elements/free-tempo.js';
import type { FreeTempoElement } from '../../../src/ui/elements/free-tempo.js';
import { neighbours, readingAs } from '../../../src/core/loop/readings.js';
import { defaultMetre } from '../../../src/core/meter/metres.js';
import { bpm, frames, sampleRate } from '../../../src/core/units/index.js';
import type { LoopReadings } from '../../../src/rehearsal/loop-readings.js';
import { allByRole, byRole, nameOf, textOf } from '../support/roles.js';
import { asksOf, staged } from '../support/stage.js';

/** Ten seconds in 4/4, read as so many bars. */
function readings(count: number): LoopReadings {
  const terms = { ...defaultMetre(4, 4), rate: sampleRate(48_000), slowest: bpm(20), fastest: bpm(400), taps: null };
  const now = readingAs(frames(480_000), count, terms);
  if (now === null) throw new Error(`Got no reading as ${count} bars when expected one.`);
  return { now, ...neighbours(now, terms) };
}

const element = (change: Partial<FreeTempoElement> = {}): Promise<FreeTempoElement> => staged('mh-free-tempo', change);
const buttons = ({ shadowRoot }: FreeTempoElement): readonly string[] => allByRole(shadowRoot!, 'button').map(nameOf);

describe('before anything was played', () => {
  test.each([
    [false, 'false', true],
    [true, 'true', false],
  ])('the choice is there; on: %s', async (on, pressed, asked) => {
    const free = await element({ on });
    const asks = asksOf(free);
    const choice = byRole(free.shadowRoot!, 'button', 'no tempo yet: I play, it follows');
    expect(choice.getAttribute('aria-pressed')).toBe(pressed);
    choice.click();
    expect(asks).toEqual([{ type: 'record-without-tempo', on: asked }]);
  });
});

describe('after a loop without a tempo', () => {
  test('it says how the loop is read, and how else it can be', async () => {
    const free = await element({ held: true, readings: readings(4) });
    expect(textOf(free.shadowRoot!)).toBe('Read as 4 bars at 96 3 bars 5 bars half double');
    expect(byRole(free.shadowRoot!, 'button', 'half').title).toBe('2 bars at 48');
    expect(allByRole(free.shadowRoot!, 'status').map(textOf)).toEqual(['Read as 4 bars at 96']);
  });

  test.each([
    ['3 bars', 'fewer'],
    ['5 bars', 'more'],
    ['half', 'half'],
    ['double', 'double'],
  ] as const)('%s asks for that reading', async (name, which) => {
    const given = readings(4);
    const free = await element({ held: true, readings: given });
    const asks = asksOf(free);
    byRole(free.shadowRoot!, 'button', name).click();
    expect(asks).toEqual([{ type: 'read-as', reading: given[which] }]);
  });

  test('what cannot be is not offered', async () => {
    expect(buttons(await element({ held: true, readings: readings(1) }))).toEqual(['2 bars', 'double']);
    expect(buttons(await element({ held: true, readings: readings(5) }))).toEqual(['4 bars', '6 bars', 'double']);
  });

  test('nothing is said where the loop is held, or was played to a click', async () => {
    expect(textOf((await element({ held: true })).shadowRoot!)).toBe('');
  });
});
