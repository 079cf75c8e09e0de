/** Keeps what comes into it, frame by frame, for tests: channel 0 and 1, and the frame as it counts them. */

class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    /** @type {Float32Array[][]} */
    this.blocks = [];
    this.port.onmessage = () => {
      const length = this.blocks.reduce((sum, [left]) => sum + (left?.length ?? 0), 0);
      const channels = [0, 1].map((c) => {
        const all = new Float32Array(length);
        let at = 0;
        for (const block of this.blocks) {
          const samples = block[c];
          if (samples !== undefined) all.set(samples, at);
          at += block[0]?.length ?? 0;
        }
        return all;
      });
      this.port.postMessage(channels);
    };
  }

  /** @param {Float32Array[][]} inputs */
  process(inputs) {
    const input = inputs[0] ?? [];
    if (input[0] !== undefined) this.blocks.push(input.map((channel) => channel.slice()));
    return true;
  }
}

registerProcessor('recorder', Recorder);
