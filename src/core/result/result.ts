/** Expected failures are values: a reason from a closed list, never an exception. */
export type Result<Value, Reason> =
  { readonly ok: true; readonly value: Value } | { readonly ok: false; readonly reason: Reason };

export const success = <Value>(value: Value): { readonly ok: true; readonly value: Value } => ({ ok: true, value });
export const failure = <Reason>(reason: Reason): { readonly ok: false; readonly reason: Reason } => ({
  ok: false,
  reason,
});
