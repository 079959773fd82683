import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';

/** Rows drawn at first, and added each time the end comes into sight. */
const STEP = 30;

/**
 * Rows of a long table, as many as were scrolled to: a site of a thousand buildings must not make a thousand rows at once.
 *
 * @param needed  Index of a row that must be there whatever was scrolled to; −1 for none.
 * @param step  Rows added at a time; fewer where an item has several rows of its own.
 * @param columns  Columns of the table, for the row that says how many are left.
 */
export function GrowingRows<Item>({ items, needed, columns, step = STEP, row }: {
  readonly items: readonly Item[];
  readonly needed: number;
  readonly columns: number;
  readonly step?: number;
  readonly row: (item: Item, index: number) => ComponentChildren;
}) {
  const [reached, setReached] = useState(step);
  const end = useRef<HTMLTableRowElement>(null);
  const shown = Math.min(items.length, Math.max(reached, needed + 1));
  const more = (): void => setReached(shown + step);

  useEffect(() => {
    if (!end.current) return;
    const watch = new IntersectionObserver((entries) => entries.some(({ isIntersecting }) => isIntersecting) && more(), { rootMargin: '200px' });
    watch.observe(end.current);
    return () => watch.disconnect();
  }, [shown, items.length]);

  return (
    <>
      {items.slice(0, shown).map((item, i) => row(item, i))}
      {shown < items.length && (
        <tr ref={end}>
          <td colSpan={columns}><button type="button" class="quiet" onClick={more}>{items.length - shown} more</button></td>
        </tr>
      )}
    </>
  );
}
