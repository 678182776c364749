// What this browser keeps between starts. A browser that keeps nothing (private window, full disk) is no
// fault: the page then begins anew each time.

export function kept<T>(key: string, otherwise: T, is: (value: unknown) => value is T): T {
  try {
    const text = localStorage.getItem(`gaswright.${key}`);
    if (text === null) return otherwise;
    const value: unknown = JSON.parse(text);
    return is(value) ? value : otherwise;
  } catch {
    return otherwise;
  }
}

export function keep(key: string, value: unknown): boolean {
  try {
    localStorage.setItem(`gaswright.${key}`, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}

export function forget(key: string): void {
  try {
    localStorage.removeItem(`gaswright.${key}`);
  } catch {
    // nothing was kept
  }
}

/** Keys in use that begin so, without the common prefix. */
export function keptKeys(prefix: string): string[] {
  try {
    return Object.keys(localStorage)
      .filter((key) => key.startsWith(`gaswright.${prefix}`))
      .map((key) => key.slice("gaswright.".length));
  } catch {
    return [];
  }
}
