/**
 * A probe beside the program, on the audio thread, for tests over a true loop. Its first input is what the program sends to
 * the output, its second what comes in. On the right channel of its own output it plays a pilot: noise of which every frame
 * differs, so that whatever comes back says which frame it is. On the left it plays bursts when told. It counts its frames
 * itself, and keeps the newest of what was sent and of what came in.
 */

/**
 * @typedef {{ type: 'burst', tag: string, at: number, seed: number }
 *   | { type: 'await-sound', tag: string }
 *   | { type: 'await-frame', frame: number, tag: string }
 *   | { type: 'holes', tag: string }
 *   | { type: 'sent' | 'came', tag: string, from: number, to: number }} Message
 */

/** Frames kept: a minute and a half at 48 kHz. */
const KEPT = 2 ** 22;
/** −40 dBFS. */
const PILOT_LEVEL = 0.01;
const BURST_LEVEL = 0.1;
const BURST_FRAMES = 512;
/** Noise is never zero for so long. */
const LEAST_HOLE = 64;

/**
 * Noise of −1 … 1 that depends on frame and seed alone: as in signals.ts.
 *
 * @param {number} frame
 * @param {number} seed
 */
function noiseAt(frame, seed) {
  let x = (Math.imul(frame | 0, 0x9e3779b1) ^ Math.imul(seed, 0x85ebca6b)) >>> 0;
  x ^= x >>> 16;
  x = Math.imul(x, 0x7feb352d) >>> 0;
  x ^= x >>> 15;
  x = Math.imul(x, 0x846ca68b) >>> 0;
  x ^= x >>> 16;
  return (x >>> 0) / 2_147_483_648 - 1;
}

class LoopProbe extends AudioWorkletProcessor {
  frame = 0;
  sent = new Float32Array(KEPT);
  came = new Float32Array(KEPT);
  /** @type {{ at: number, seed: number }[]} */
  bursts = [];
  /** @type {string | null} */
  awaited = null;
  /** @type {{ frame: number, tag: string }[]} */
  marks = [];
  /**
   * Lengths of the runs of zeros in what came in since the pilot came back first: a browser puts them in.
   *
   * @type {number[]}
   */
  holes = [];
  zeros = -Infinity;

  constructor() {
    super();
    this.port.onmessage = (event) => {
      /** @type {unknown} */
      const posted = event.data;
      this.take(/** @type {Message} */ (posted));
    };
  }

  /** @param {Message} message */
  take(message) {
    switch (message.type) {
      case 'burst':
        this.bursts.push({ at: message.at, seed: message.seed });
        this.port.postMessage({ tag: message.tag, frame: this.frame });
        break;
      case 'await-sound':
        this.awaited = message.tag;
        break;
      case 'await-frame':
        this.marks.push(message);
        break;
      case 'holes':
        this.port.postMessage({ tag: message.tag, holes: this.holes });
        break;
      default: {
        // Counted from the newest frame back where `to` is 0 or less.
        const end = message.to <= 0 ? this.frame + message.to : message.to;
        const from = message.to <= 0 ? end + message.from : message.from;
        const tape = this[message.type];
        const samples = Float32Array.from({ length: end - from }, (_, i) => tape[(from + i) & (KEPT - 1)] ?? 0);
        this.port.postMessage({ tag: message.tag, from, samples }, [samples.buffer]);
      }
    }
  }

  /**
   * @param {Float32Array[][]} inputs
   * @param {Float32Array[][]} outputs
   */
  process([sent, came], [out]) {
    const [left, right] = out ?? [];
    if (left === undefined || right === undefined) return true;
    for (let i = 0; i < left.length; i++) {
      const frame = this.frame + i;
      const sample = sent?.[0]?.[i] ?? 0;
      this.sent[frame & (KEPT - 1)] = sample;
      this.came[frame & (KEPT - 1)] = this.listen(came?.[1]?.[i] ?? 0);
      if (this.awaited !== null && sample !== 0) {
        this.port.postMessage({ tag: this.awaited, frame });
        this.awaited = null;
      }
      right[i] = PILOT_LEVEL * noiseAt(frame, 0);
      left[i] = this.burstAt(frame);
    }
    this.frame += left.length;
    for (const { tag } of this.marks.filter((mark) => mark.frame <= this.frame)) this.port.postMessage({ tag });
    this.marks = this.marks.filter((mark) => mark.frame > this.frame);
    return true;
  }

  /** @param {number} sample */
  listen(sample) {
    if (sample === 0) this.zeros++;
    else {
      if (this.zeros >= LEAST_HOLE) this.holes.push(this.zeros);
      this.zeros = 0;
    }
    return sample;
  }

  /** @param {number} frame */
  burstAt(frame) {
    let sum = 0;
    for (const { at, seed } of this.bursts) {
      if (frame >= at && frame < at + BURST_FRAMES) sum += BURST_LEVEL * noiseAt(frame - at, seed);
    }
    return sum;
  }
}

registerProcessor('loop-probe', LoopProbe);
