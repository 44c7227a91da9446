import { renderToStaticMarkup } from 'react-dom/server';
import { expect, test } from 'vitest';
import { Hull } from './Hull.tsx';

test('the three states of the mark are three shapes', () => {
  const drawn = (['open', 'across', 'aside'] as const).map((state) => renderToStaticMarkup(<Hull state={state} />));
  expect(new Set(drawn).size).toBe(3);
});

test('a mark with a title is a picture with a name; one without says nothing', () => {
  expect(renderToStaticMarkup(<Hull state="across" title="Stopped" />)).toContain('aria-label="Stopped"');
  expect(renderToStaticMarkup(<Hull state="across" />)).toContain('aria-hidden="true"');
});
