(() => {
  // A message beside a field marks that field as refused; after a press the cursor goes to the first of them.
  if (window.fleetForms) return;
  window.fleetForms = true;
  let waiting = null, count = 0;
  const mark = pressed => {
    let first = null;
    for (const field of document.querySelectorAll('.fleet-field')) {
      const message = field.querySelector('[class*=" m-"], [class^="m-"]');
      const said = message && message.querySelector('[role=alert]');
      for (const box of field.querySelectorAll('input, select')) {
        if (said) {
          if (!said.id) said.id = `fleet-said-${++count}`;
          box.setAttribute('aria-invalid', 'true');
          box.setAttribute('aria-describedby', said.id);
          if (!first && box.offsetParent) first = box;
        } else {
          box.removeAttribute('aria-invalid');
          box.removeAttribute('aria-describedby');
        }
      }
    }
    if (first && pressed) first.focus();
  };
  // A page carried in its link opens in a tab of its own; a browser refuses to go to such an address by itself.
  document.addEventListener('click', event => {
    const link = event.target.closest('a.fleet-link');
    if (!link || !link.href.startsWith('data:text/html')) return;
    event.preventDefault();
    const bytes = Uint8Array.from(atob(link.href.split(',')[1]), c => c.charCodeAt(0));
    const place = URL.createObjectURL(new Blob([bytes], { type: 'text/html;charset=utf-8' }));
    window.open(place, '_blank', 'noopener');
    setTimeout(() => URL.revokeObjectURL(place), 60000);
  });
  const changed = list => list.some(m => [...m.addedNodes, ...m.removedNodes].some(
    n => n.nodeType === 1 && (n.matches('.fleet-asks') || n.querySelector('.fleet-asks'))));
  new MutationObserver(list => {
    if (!changed(list)) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => mark(true), 60);
  }).observe(document.body, { childList: true, subtree: true });
})();
