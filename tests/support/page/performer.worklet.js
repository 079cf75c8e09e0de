/**
 * A scripted player for tests, on the audio thread. Its input is what the program plays; its output goes to the
 * program's microphone. It counts in by the clicks it hears, plays strokes at the frames it was told, and keeps both
 * what it heard and what it played, frame by frame, so that a test can prove where each lies.
 */

/**
 * @typedef {{ type: 'listen', tag: string }
 *   | { type: 'play', strokes: number[] }
 *   | { type: 'mark', frame: number }
 *   | { type: 'cable', gain: number }
 *   | { type: 'tape', from: number, to: number }} Message
 */

/** Longest performance, in frames: three minutes at 48 kHz. */
const TAPE = 180 * 48_000;
const DECAY = 1200;
const LEVEL = 0.2;
const NOTHING = new Float32Array(0);

/**
 * Noise that depends on the frame and the stroke alone.
 *
 * @param {number} frame
 * @param {number} seed
 */
function noiseAt(frame, seed) {
  let x = (Math.imul(frame, 0x9e3779b1) ^ Math.imul(seed, 0x85ebca6b)) >>> 0;
  x ^= x >>> 16;
  x = Math.imul(x, 0x7feb352d) >>> 0;
  x ^= x >>> 15;
  return (x >>> 0) / 2_147_483_648 - 1;
}

class Performer extends AudioWorkletProcessor {
  heard = new Float32Array(TAPE);
  played = new Float32Array(TAPE);
  frame = 0;
  /**
   * Waiting for the first sound, such as the first click of a count-in; null where it isn't.
   *
   * @type {string | null}
   */
  listening = null;
  /**
   * Frames at which strokes begin, ascending.
   *
   * @type {number[]}
   */
  strokes = [];
  /**
   * Frames at which the test wants to be told, ascending.
   *
   * @type {number[]}
   */
  marks = [];
  /** Of a cable from the program's output to the microphone; 0 where there is none. */
  cable = 0;

  constructor() {
    super();
    this.port.onmessage = (event) => {
      /** @type {unknown} */
      const sent = event.data;
      const data = /** @type {Message} */ (sent);
      switch (data.type) {
        case 'listen':
          this.listening = data.tag;
          break;
        case 'play':
          this.strokes = [...this.strokes, ...data.strokes].sort((a, b) => a - b);
          break;
        case 'mark':
          this.marks = [...this.marks, data.frame].sort((a, b) => a - b);
          break;
        case 'cable':
          this.cable = data.gain;
          break;
        case 'tape': {
          const { from, to } = data;
          this.port.postMessage({
            type: 'tape',
            heard: this.heard.slice(from, to),
            played: this.played.slice(from, to),
          });
          break;
        }
      }
    };
  }

  /**
   * @param {Float32Array[][]} inputs
   * @param {Float32Array[][]} outputs
   */
  process(inputs, outputs) {
    const out = outputs[0]?.[0] ?? NOTHING;
    const heard = inputs[0]?.[0];
    for (let i = 0; i < out.length; i++) {
      const frame = this.frame + i;
      const sample = heard?.[i] ?? 0;
      if (frame < TAPE) this.heard[frame] = sample;
      if (this.listening !== null && sample !== 0) {
        this.port.postMessage({ type: 'heard', tag: this.listening, frame });
        this.listening = null;
      }
      out[i] = this.strokeAt(frame) + this.cable * sample;
      if (frame < TAPE) this.played[frame] = out[i] ?? 0;
    }
    this.frame += out.length;
    for (let mark = this.marks[0]; mark !== undefined && mark <= this.frame; mark = this.marks[0]) {
      this.port.postMessage({ type: 'reached', frame: mark });
      this.marks.shift();
    }
    return true;
  }

  /**
   * The newest stroke that has begun; the one before it is damped.
   *
   * @param {number} frame
   */
  strokeAt(frame) {
    let newest = -Infinity;
    for (const stroke of this.strokes) {
      if (stroke > frame) break;
      newest = stroke;
    }
    const into = frame - newest;
    if (into > 10 * DECAY) return 0;
    return LEVEL * Math.exp(-into / DECAY) * (into === 0 ? 1 : noiseAt(into, newest));
  }
}

registerProcessor('performer', Performer);
