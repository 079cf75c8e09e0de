/** Left and right, of at least the block's length. */
export type StereoBlock = readonly [Float32Array, Float32Array];

/** Left and right of what is being summed up: in doubles, so that it is rounded once, however much is added. */
export type StereoSum = readonly [Float64Array, Float64Array];

export const stereoBlock = (frames: number): StereoBlock => [new Float32Array(frames), new Float32Array(frames)];

export const stereoSum = (frames: number): StereoSum => [new Float64Array(frames), new Float64Array(frames)];
