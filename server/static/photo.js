/* Photos are made small before they leave this device, which also takes the place where they were taken out of them. */
const Photo = (function () {
  "use strict";

  const LONGEST_SIDE = 1600, QUALITY = 0.8;

  async function small(file) {
    const bitmap = await createImageBitmap(file);
    const share = Math.min(1, LONGEST_SIDE / Math.max(bitmap.width, bitmap.height));
    const canvas = document.createElement("canvas");
    Object.assign(canvas, { width: Math.round(bitmap.width * share), height: Math.round(bitmap.height * share) });
    canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
    return new Promise((resolve, reject) => {
      canvas.toBlob((made) => { if (made) resolve(made); else reject(new Error("no room for a picture")); }, "image/jpeg", QUALITY);
    });
  }

  return { small };
}());
