/** Whether plain data is the same, field by field, whatever the order of its fields. */
export function equalData(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  const [ours, theirs] = [new Map(Object.entries(a)), new Map(Object.entries(b))];
  return (
    ours.size === theirs.size && [...ours].every(([key, value]) => theirs.has(key) && equalData(value, theirs.get(key)))
  );
}
