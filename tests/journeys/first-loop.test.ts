/**
 * The main job on real sound, in real time, with keys alone: find a tempo, record four bars, layer over them, reload,
 * play. Each layer must sound at the very frames at which the player played it.
 */
import { expect, test } from '@playwright/test';
import { notice, nowLine, openPage, openSound, reloadOnceKept, setTempo } from '../support/page/player.js';
import { Studio } from '../support/page/studio.js';

const BAR = 120_000;
const BEAT = BAR / 4;
/** 10 ms before the line the seam begins. */
const SEAM = 480;

/** A guide part: quarters, each a little off the beat by a known amount; the first on the line. */
const guide = (line: number): number[] =>
  Array.from({ length: 16 }, (_, beat) => line + beat * BEAT + (beat === 0 ? 0 : ((beat * 37) % 11) * 60 - 200));
/** A second part: off-beats, early and late. */
const second = (line: number): number[] =>
  Array.from({ length: 8 }, (_, i) => line + i * 2 * BEAT + BEAT / 2 + ((i * 53) % 7) * 40 - 120);

test('four bars and a layer over them lie at the frames where they were played, also after a reload', async ({
  page,
}) => {
  const studio = await Studio.around(page);
  await openPage(page);
  await setTempo(page, 96);
  await page.keyboard.press('k');
  await openSound(page);

  const firstClick = await studio.listen();
  await page.keyboard.press(' ');
  await expect(nowLine(page)).toContainText('Counting in');
  const line = (await firstClick()) + BAR;
  await studio.play([...guide(line), ...second(line + 8 * BAR)]);
  await studio.reach(line);
  await expect(nowLine(page)).toContainText('Recording Layer 1');

  await studio.reach(line + 4 * BAR - 6000);
  await page.keyboard.press(' ');
  await expect(notice(page)).toContainText('Layer 1 is in, 4 bars.');
  await expect(nowLine(page)).toContainText('Playing');

  // In the bar before the line: the next line is meant.
  await studio.reach(line + 7.5 * BAR);
  await page.keyboard.press(' ');
  await expect(nowLine(page)).toContainText('Waiting for the bar');
  await expect(nowLine(page)).toContainText('Layering Layer 2');
  await expect(notice(page)).toContainText('Layer 2 is in, 4 bars.');

  await studio.reach(line + 16.2 * BAR);
  const tape = await studio.tape(line, line + 16 * BAR);
  const first = tape.played.subarray(0, 4 * BAR);
  const over = tape.played.subarray(8 * BAR, 12 * BAR);
  const both = Float32Array.from(first, (sample, i) => sample + (over[i] ?? 0));
  expect(firstWrong(tape.heard.subarray(8 * BAR), first, 4 * BAR - SEAM), 'the guide alone').toBe(-1);
  expect(firstWrong(tape.heard.subarray(12 * BAR), both, 4 * BAR - SEAM), 'both layers').toBe(-1);

  await expect(page.getByText('kept on this computer')).toBeVisible();
  await reloadOnceKept(page);
  await expect(page.getByText('Layer 2', { exact: true })).toBeVisible();
  await openSound(page);
  const firstNote = await studio.listen();
  await page.keyboard.press(' ');
  const top = await firstNote();
  await studio.reach(top + 8.1 * BAR);
  const again = await studio.tape(top, top + 8 * BAR);
  expect(firstWrong(again.heard, both, 4 * BAR - SEAM), 'after the reload, first time').toBe(-1);
  expect(firstWrong(again.heard.subarray(4 * BAR), both, 4 * BAR - SEAM), 'after the reload, second time').toBe(-1);

  await page.keyboard.press('Escape');
  await expect(nowLine(page)).toContainText('Stopped');
});

/** Index of the first of `count` samples that differs by a bit; −1 if none does. */
function firstWrong(heard: Float32Array, expected: Float32Array, count: number): number {
  for (let i = 0; i < count; i++) if (heard[i] !== expected[i]) return i;
  return -1;
}
