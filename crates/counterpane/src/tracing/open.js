/* Pictures come in by file, drop or paste. */

const MOST_PIXELS = 40e6;

async function openPictures(files) {
  const pictures = Array.from(files).filter(function (f) { return /^image\//.test(f.type); });
  if (!pictures.length) { tellKept('That is no picture; a PNG or JPEG of the screen is wanted.'); return; }
  for (const file of pictures) {
    try {
      const id = state.next;
      const size = await look(id, file);
      commit(function (s) {
        s.next += 1;
        s.pictures.push({ id: id, name: file.name || 'pasted picture', width: size.width, height: size.height, times: [null, null], stages: looksOfOthers(id) });
      });
      ui.picture = state.pictures.length - 1;
      keepPicture(id, file);
      if (base) { tellKept('Kept in this browser until you start again.'); }
    } catch (problem) { tellKept((file.name || 'The picture') + ' cannot be read: ' + problem.message); }
  }
  if (current()) { ui.mode = modeFor(current()); byId('work').hidden = false; fitPicture(); byId('view').focus(); }
}

/* The next part of a scrolled night usually has the rows of the first one, if it has its size. */
function looksOfOthers(id) {
  const last = state.pictures[state.pictures.length - 1];
  const same = last && shots[last.id] && shots[id].width === shots[last.id].width && shots[id].height === shots[last.id].height;
  return same ? JSON.parse(JSON.stringify(last.stages)) : {};
}

/* Decodes a picture into pixels. */
async function look(id, blob) {
  const url = URL.createObjectURL(blob);
  const image = new Image();
  image.src = url;
  try { await image.decode(); } catch (_) { URL.revokeObjectURL(url); throw new Error('it is damaged or of an unknown kind'); }
  const width = image.naturalWidth, height = image.naturalHeight;
  if (width * height > MOST_PIXELS) { URL.revokeObjectURL(url); throw new Error('it has more than 40 million pixels; cut it to the part with the stages'); }
  const canvas = document.createElement('canvas');
  canvas.width = width;
  canvas.height = height;
  const context = canvas.getContext('2d', { willReadFrequently: true });
  context.fillStyle = '#fff';
  context.fillRect(0, 0, width, height);
  context.drawImage(image, 0, 0);
  shots[id] = { url: url, canvas: canvas, width: width, height: height, data: context.getImageData(0, 0, width, height).data };
  return { width: width, height: height };
}

function listenForPictures() {
  byId('open').addEventListener('change', function () { openPictures(this.files); this.value = ''; });
  document.addEventListener('paste', function (event) {
    if (event.clipboardData && event.clipboardData.files.length) { event.preventDefault(); openPictures(event.clipboardData.files); }
  });
  ['dragover', 'drop', 'dragleave'].forEach(function (name) {
    document.addEventListener(name, function (event) {
      event.preventDefault();
      byId('drop').classList.toggle('over', name === 'dragover');
      if (name === 'drop' && event.dataTransfer) { openPictures(event.dataTransfer.files); }
    });
  });
}
