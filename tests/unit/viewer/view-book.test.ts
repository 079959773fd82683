import { expect, test } from 'vitest';
import { ViewBook, type ViewSetting } from '../../../src/viewer/view-book.ts';
import { panBy, zoomAt } from '../../../src/viewer/projection.ts';

const setting: ViewSetting = { name: 'plan', gridToTrueDeg: 0, section: null, compact: true, bounds: { min: [0, 0, 0], max: [20, 12, 8] } };

function book(width: number, height: number) {
  const size = { width, height };
  return { size, views: new ViewBook(() => size) };
}

test('a sheet that is drawn over the picture and away again leaves the picture as large as it was', () => {
  const { size, views } = book(390, 600);
  const before = views.view(setting);
  for (const height of [300, 90, 600, 120, 600]) {
    size.height = height;
    views.resize();
  }
  expect(views.view(setting)).toEqual(before);
  // In between all of it was in sight.
  size.height = 300;
  views.resize();
  expect(views.view(setting).pixelsPerMetre).toBeLessThan(before.pixelsPerMetre);
});

test('a view that was moved by hand comes back as it was left', () => {
  const { size, views } = book(390, 600);
  const left = panBy(zoomAt(views.view(setting), 3, 100, 100), 40, -10);
  views.set('plan', left);
  size.height = 150;
  views.resize();
  expect(views.view(setting)).toEqual({ ...left, height: 150, pixelsPerMetre: left.pixelsPerMetre / 4 });
  size.height = 600;
  views.resize();
  expect(views.view(setting)).toEqual(left);
});

test('turning what is shown whole keeps showing it whole, at every size', () => {
  const { size, views } = book(390, 600);
  views.set('plan', zoomAt(views.view(setting), 5, 10, 10));
  views.showWhole(setting, setting.bounds!);
  const whole = views.view(setting);
  size.width = 800;
  views.resize();
  size.width = 390;
  views.resize();
  expect(views.view(setting)).toEqual(whole);
});
