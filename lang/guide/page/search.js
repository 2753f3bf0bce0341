
'use strict';
const ask = document.getElementById('ask'), words = document.getElementById('words'), count = document.getElementById('count');
const list = document.getElementById('hits'), all = [...list.children];
const fold = text => text.toLowerCase().split(/[\x00-\x2f\x3a-\x60\x7b-\x7f]+/).filter(Boolean);
const known = all.map(li => ({ li, name: ' ' + fold(li.firstElementChild.textContent).join(' '), says: ' ' + fold(li.textContent).join(' '), text: ' ' + li.dataset.words }));
const weigh = (k, wanted) => {
  const has = text => wanted.every(w => text.includes(' ' + w));
  return has(k.name) ? 3 : has(k.says) ? 2 : has(k.name + k.says + k.text) ? 1 : 0;
};
const show = () => {
  const wanted = fold(words.value);
  const hits = wanted.length ? known.map(k => ({ k, weight: weigh(k, wanted) })).filter(h => h.weight).sort((a, b) => b.weight - a.weight).map(h => h.k.li) : all;
  const shown = new Set(hits);
  all.forEach(li => { li.hidden = !shown.has(li); });
  hits.forEach(li => list.append(li));
  count.textContent = !wanted.length ? '' : hits.length === 1 ? '1 page' : hits.length ? hits.length + ' pages' : 'No page has all of these words.';
};
ask.hidden = false;
words.addEventListener('input', show);
words.focus();
