/**
 * The round trip, measured by the page as a player measures it, over a true loop: the browser's real output into its real
 * capture. Nobody knows beforehand how long it is, and now and then it moves; so no figure is asked for, but that page and
 * probe say the same, and that a layer sounds at the very frames at which it was heard when it was played.
 */
import { expect } from '@playwright/test';
import type { Locator, Page } from '@playwright/test';
import { notice, nowLine, openPage, setTempo } from '../support/page/player.js';
import type { Lags } from '../support/page/loop-probe.js';
import { burstIn, LoopProbe } from '../support/page/loop-probe.js';
import { needSoundServer, test } from '../support/page/looped.js';

const RATE = 48_000;
const BPM = 120;
const BAR = (4 * 60 * RATE) / BPM;
/** In the second half of the bar, where no click is. */
const OFF_BEAT = Math.round(0.62 * BAR);
/** A part of one in which the loop itself moved says nothing. */
const ATTEMPTS = 3;
const PARTS = ['figure', 'check', 'layer'] as const;
/** A frame is the most by which page and probe may differ. */
const WITHIN = 1;
/** The short buffer moves again and again where every core is busy: it is tried when asked for. */
const PACES: readonly ('steady' | 'quick')[] = process.env['MANYHAND_PROOF'] === '1' ? ['steady', 'quick'] : ['steady'];
/** Settling takes 15 s, three shots some 6. */
const MEASURED_MS = 60_000;

needSoundServer();

const slipButton = (page: Page): Locator => page.getByRole('button', { name: /round trip/ });
const slip = (page: Page): Locator => page.locator('mh-round-trip');
const outcome = (page: Page): Locator => slip(page).locator('.outcome');

/** Opens the sound, and the slip; at another pace it is opened anew, and the slip goes with what was open. */
async function openAt(page: Page, probe: LoopProbe, pace: 'steady' | 'quick'): Promise<void> {
  await page.getByRole('button', { name: 'Open the sound' }).click();
  await slipButton(page).click();
  if (pace === 'steady') return;
  await page.getByRole('radio', { name: pace }).click();
  await probe.openings(2);
  await page.keyboard.press('Escape');
  await expect(slip(page)).toBeHidden();
  await slipButton(page).click();
}

/** Presses a button of the slip. @returns what is said of it in the end. */
async function outcomeOf(page: Page, button: 'Measure' | 'Check'): Promise<string> {
  await slip(page).getByRole('button', { name: button }).click();
  await expect(slip(page).getByRole('button', { name: 'Leave it' })).toBeVisible();
  await expect(outcome(page)).toHaveText(/\S/, { timeout: MEASURED_MS });
  return outcome(page).innerText();
}

/** @returns the figure in frames; null where it was refused, as it is when the loop moves. */
async function measure(page: Page): Promise<number | null> {
  // Of two ways, the cable is the one that is chosen at first.
  await expect(page.getByRole('radio', { name: 'a cable, output to input' })).toBeChecked();
  if (!(await outcomeOf(page, 'Measure')).includes('Found:')) return null;
  const words = await slip(page).locator('.known').innerText();
  const found = /(\d+) frames, measured through a cable today\. Certain to the frame\./.exec(words)?.[1];
  if (found === undefined) throw new Error(`Got “${words}” when expected a figure that is certain.`);
  return Number(found);
}

/** @returns by how many frames it had become longer, as a check says it; null where it was refused. */
async function check(page: Page): Promise<number | null> {
  // Offered once something is known.
  if (await slip(page).getByRole('button', { name: 'Check' }).isHidden()) return null;
  const words = await outcomeOf(page, 'Check');
  if (words.includes('Just as it was')) return 0;
  const moved = /(longer|shorter) by (\d+) frame/.exec(words);
  return moved === null ? null : Number(moved[2]) * (moved[1] === 'longer' ? 1 : -1);
}

/**
 * Records one bar in which a burst is heard.
 * @returns how many frames too late it sounds in the round after, Infinity where it does not; null where this test was late.
 */
async function layerOff(page: Page, probe: LoopProbe, seed: number): Promise<number | null> {
  const firstClick = await probe.nextSound();
  await page.keyboard.press(' ');
  const played = (await firstClick()) + BAR + OFF_BEAT;
  const inTime = await probe.burst(played, seed);
  await expect(notice(page)).toContainText(/Layer 1 (is in, 1 bar|lies)/);
  const again = played + BAR;
  await probe.reach(again + BAR / 4);
  const sent = await probe.sent(again - BAR / 4, again + BAR / 4);
  await page.keyboard.press('Escape');
  await expect(nowLine(page)).toContainText('Stopped');
  await page.keyboard.press('Backspace');
  await expect(page.getByText('Layer 1', { exact: true })).toBeHidden();
  return inTime ? burstIn(sent, seed) - again : null;
}

/**
 * What the probe makes of the round trip now: the numbers that the page gives to what comes in were set when the sound was
 * opened, such that they agree with the audio thread's at that moment. Holes came before that moment or after it.
 */
function figuresOf(opened: Lags, holes: readonly number[], now: Lags): readonly number[] {
  const longest = opened.own + now.track - opened.track;
  return [...holes, 0].map((_, first) => longest - holes.slice(first).reduce((sum, hole) => sum + hole, 0));
}

for (const pace of PACES) {
  test(`${pace}: page and probe measure the same, and a layer lies where it was heard`, async ({ page }, info) => {
    const probe = await LoopProbe.beside(page);
    await openPage(page);
    await setTempo(page, BPM);
    await page.getByRole('combobox', { name: 'length' }).selectOption('1');
    await openAt(page, probe, pace);
    const opened = await probe.lags();
    const holes = await probe.holes();
    const proved = new Set<(typeof PARTS)[number]>();
    let before = opened;
    for (let attempt = 1; attempt <= ATTEMPTS && proved.size < PARTS.length; attempt++) {
      const figure = await measure(page);
      const measured = await probe.lags();
      const checked = await check(page);
      const after = await probe.lags();
      await page.keyboard.press('Escape');
      const off = await layerOff(page, probe, attempt);
      const last = await probe.lags();
      await slipButton(page).click();
      const figures = { before, figure, measured, checked, after, off, last };
      info.annotations.push({ type: 'figures', description: JSON.stringify(figures) });
      const stood = { figure: before.track === measured.track, check: measured.track === after.track };
      if (stood.figure) {
        const differences = figuresOf(opened, holes, measured).map((each) => Math.abs(each - (figure ?? NaN)));
        expect(Math.min(...differences), 'page and probe').toBeLessThanOrEqual(WITHIN);
        proved.add('figure');
      }
      if (stood.figure && stood.check) {
        expect(checked, 'the check of a second').toBe(0);
        proved.add('check');
      }
      if (stood.check && checked !== null && after.track === last.track && off !== null) {
        expect(Math.abs(off), 'the layer').toBeLessThanOrEqual(WITHIN);
        proved.add('layer');
      }
      before = last;
    }
    // A short buffer moves again and again while every core is busy: then there was nothing to compare.
    const open = PARTS.filter((part) => !proved.has(part)).join(', ');
    test.skip(pace === 'quick' && open !== '', `in every attempt the loop itself moved: not proved in quick: ${open}`);
    expect(open, 'not proved while the loop stood still').toBe('');
  });
}
