/**
 * Before the browser tests: puts what tests play and listen with beside the build, since a worklet comes from the page's own
 * origin or not at all, and writes the file that the capture tests take for a microphone. That file has a stroke of decaying noise every half
 * second, ten seconds, going round; 44.1 kHz, 16 bits, mono, which is what the fake device runs at.
 */
import { copyFileSync, mkdirSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { MICROPHONE_FILE, TEST_BUILD } from '../../../scripts/paths.mjs';

/** Where the performer is served. */
export const PERFORMER_PATH = '/performer.worklet.js';
/** Where the processor is served that keeps what comes into it. */
export const RECORDER_PATH = '/recorder.worklet.js';
/** Where the probe of the round trip is served. */
export const LOOP_PROBE_PATH = '/loop-probe.worklet.js';

const RATE = 44_100;
const SECONDS = 10;
const EVERY = RATE / 2;
const DECAY = 1500;

// eslint-disable-next-line no-restricted-syntax -- Playwright calls the default export
export default function setUp(): void {
  for (const path of [PERFORMER_PATH, RECORDER_PATH, LOOP_PROBE_PATH]) {
    copyFileSync(fileURLToPath(new URL(`.${path}`, import.meta.url)), TEST_BUILD + path);
  }
  writeMicrophone();
}

function writeMicrophone(): void {
  const data = Buffer.alloc(2 * RATE * SECONDS);
  let seed = 7;
  for (let i = 0; i < RATE * SECONDS; i++) {
    seed = (seed * 16_807) % 2_147_483_647;
    const noise = seed / 1_073_741_823.5 - 1;
    data.writeInt16LE(Math.round(12_000 * noise * Math.exp(-(i % EVERY) / DECAY)), 2 * i);
  }
  mkdirSync(dirname(MICROPHONE_FILE), { recursive: true });
  writeFileSync(MICROPHONE_FILE, Buffer.concat([header(data.length), data]));
}

/** RIFF/WAVE, PCM: twelve bytes, a `fmt ` chunk of 16, and the head of the data chunk. */
function header(bytes: number): Buffer {
  const head = Buffer.alloc(44);
  head.write('RIFF', 0);
  head.writeUInt32LE(36 + bytes, 4);
  head.write('WAVEfmt ', 8);
  head.writeUInt32LE(16, 16);
  head.writeUInt16LE(1, 20);
  head.writeUInt16LE(1, 22);
  head.writeUInt32LE(RATE, 24);
  head.writeUInt32LE(2 * RATE, 28);
  head.writeUInt16LE(2, 32);
  head.writeUInt16LE(16, 34);
  head.write('data', 36);
  head.writeUInt32LE(bytes, 40);
  return head;
}
