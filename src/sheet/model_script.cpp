#include "model_part.hpp"

namespace kerfwright::sheet {

// Every piece is the whole surface, clipped by the cuts that made it, and the faces of those cuts,
// clipped likewise. Pieces move apart along the cuts between them. Drawn only when something
// changes.
const char* const model_script = R"script(
'use strict';
(function () {
  var canvas = document.getElementById('view');
  var probe = document.createElement('canvas');
  if (!window.THREE || !(probe.getContext('webgl') || probe.getContext('experimental-webgl'))) return;
  var data = JSON.parse(document.getElementById('model-data').textContent);
  document.getElementById('model').hidden = false;
  document.getElementById('no-model').hidden = true;

  var renderer = new THREE.WebGLRenderer({ canvas: canvas, antialias: true, preserveDrawingBuffer: true });
  renderer.setClearColor(0xffffff);
  renderer.localClippingEnabled = true;
  var scene = new THREE.Scene();
  var camera = new THREE.PerspectiveCamera(32, 1, 10, 100000);
  var up = new THREE.Vector3(data.up[0], data.up[1], data.up[2]);
  var along = new THREE.Vector3(1, 0, 0).addScaledVector(up, -up.x).normalize();
  var left = up.clone().cross(along);
  camera.up.copy(up);
  var lamp = new THREE.DirectionalLight(0xffffff, 0.75);
  scene.add(new THREE.AmbientLight(0xffffff, 0.55), lamp, camera);

  function attribute(numbers) { return new THREE.BufferAttribute(new Float32Array(numbers), 3); }

  function surface() {
    var rings = data.surface.rings, points = data.surface.points;
    var per = points.length / 3 / rings, index = [], i, j;
    for (i = 0; i + 1 < rings; ++i) {
      for (j = 0; j < per; ++j) {
        var a = i * per + j, b = i * per + (j + 1) % per, c = a + per, d = b + per;
        index.push(a, b, c, b, d, c);
      }
    }
    [0, (rings - 1) * per].forEach(function (ring) {
      for (j = 1; j + 1 < per; ++j) index.push(ring, ring + j, ring + j + 1);
    });
    var geometry = new THREE.BufferGeometry();
    geometry.setAttribute('position', attribute(points));
    geometry.setIndex(index);
    geometry.computeVertexNormals();
    return geometry;
  }

  function strip(points) {
    var index = [], count = points.length / 3;
    for (var i = 0; i + 3 < count; i += 2) index.push(i, i + 1, i + 2, i + 1, i + 3, i + 2);
    var geometry = new THREE.BufferGeometry();
    geometry.setAttribute('position', attribute(points));
    geometry.setIndex(index);
    geometry.computeVertexNormals();
    return geometry;
  }

  // Corner k has bit 0 for the far end, 1 for the far edge, 2 for the upper face.
  function box(corners) {
    var sides = [[0, 2, 6, 4], [1, 5, 7, 3], [0, 4, 5, 1], [2, 3, 7, 6], [0, 1, 3, 2], [4, 6, 7, 5]];
    var points = [];
    sides.forEach(function (s) {
      [s[0], s[1], s[2], s[0], s[2], s[3]].forEach(function (k) {
        points.push(corners[3 * k], corners[3 * k + 1], corners[3 * k + 2]);
      });
    });
    var geometry = new THREE.BufferGeometry();
    geometry.setAttribute('position', attribute(points));
    geometry.computeVertexNormals();
    return geometry;
  }

  // Four corners of each section, from end to end.
  function slab(points) {
    var count = points.length / 12, order = [];
    for (var i = 0; i + 1 < count; ++i) {
      for (var k = 0; k < 4; ++k) {
        var a = 4 * i + k, b = 4 * i + (k + 1) % 4, c = a + 4, d = b + 4;
        order.push(a, b, c, b, d, c);
      }
    }
    [0, 4 * (count - 1)].forEach(function (s) { order.push(s, s + 1, s + 2, s, s + 2, s + 3); });
    var corners = [];
    order.forEach(function (k) { corners.push(points[3 * k], points[3 * k + 1], points[3 * k + 2]); });
    var geometry = new THREE.BufferGeometry();
    geometry.setAttribute('position', attribute(corners));
    geometry.computeVertexNormals();
    return geometry;
  }

  var radius = 0;
  data.surface.points.forEach(function (v, i) { if (i % 3) radius = Math.max(radius, Math.abs(v)); });
  var gap = 0.16 * radius;
  var log = surface();
  var madeBy = {};
  data.cuts.forEach(function (cut, i) {
    cut.vector = new THREE.Vector3(cut.normal[0], cut.normal[1], cut.normal[2]);
    cut.strip = strip(cut.face);
    madeBy[cut.above] = { cut: i, sign: 1 };
    madeBy[cut.below] = { cut: i, sign: -1 };
  });

  function sides(piece) {
    var list = [];
    while (madeBy[piece] && list.length <= data.cuts.length) {
      list.unshift(madeBy[piece]);
      piece = data.cuts[madeBy[piece].cut].piece;
    }
    return list;
  }

  function offset(list) {
    var sum = new THREE.Vector3();
    list.forEach(function (side) {
      var cut = data.cuts[side.cut];
      sum.addScaledVector(cut.vector, side.sign * gap * (cut.mill ? 1 : 0.4));
    });
    return sum;
  }

  // Of parallel cuts only the nearest bounds a piece.
  function bounds(list) {
    var kept = [];
    list.forEach(function (side) {
      var cut = data.cuts[side.cut];
      var normal = cut.vector.clone().multiplyScalar(side.sign), reach = side.sign * cut.offset;
      var same = kept.filter(function (k) { return k.normal.dot(normal) > 0.9999; })[0];
      if (!same) kept.push({ cut: cut, normal: normal, reach: reach });
      else if (reach > same.reach) { same.cut = cut; same.normal = normal; same.reach = reach; }
    });
    return kept;
  }

  function planes(kept, shift, but) {
    return kept.filter(function (k) { return k !== but; }).map(function (k) {
      return new THREE.Plane(k.normal, -k.reach - k.normal.dot(shift));
    });
  }

  function wood(geometry, colour, opacity, clips, shift) {
    var mesh = new THREE.Mesh(geometry, new THREE.MeshLambertMaterial({
      color: colour, opacity: opacity, transparent: true, depthWrite: false, side: THREE.DoubleSide,
      clippingPlanes: clips
    }));
    mesh.position.copy(shift);
    return mesh;
  }

  var tints = [0x9cc3e6, 0xf2c46a, 0x8fd3b4, 0xe9a98a, 0xbfa6dc, 0xd9d9d9, 0xe2a9c8, 0x9fd0d8];
  var boards = data.boards.map(function (board) {
    var sections = board.sections || [];
    var geometry = sections.length >= 24 ? slab(sections) : box(board.corners);
    var mesh = new THREE.Mesh(geometry, new THREE.MeshLambertMaterial({
      color: tints[board.product % tints.length], side: THREE.DoubleSide,
      polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1
    }));
    mesh.add(new THREE.LineSegments(new THREE.EdgesGeometry(geometry, 20),
      new THREE.LineBasicMaterial({ color: 0x000000 })));
    mesh.userData = board;
    scene.add(mesh);
    return mesh;
  });

  var pieces = new THREE.Group();
  scene.add(pieces);
  function whole(piece, step) {
    while (madeBy[piece] && madeBy[piece].cut >= step) piece = data.cuts[madeBy[piece].cut].piece;
    return piece;
  }

  function saw(step) {
    pieces.children.forEach(function (mesh) { mesh.material.dispose(); });
    scene.remove(pieces);
    pieces = new THREE.Group();
    var loose = ['log'];
    data.cuts.slice(0, step).forEach(function (cut) {
      loose = loose.filter(function (piece) { return piece !== cut.piece; });
      loose.push(cut.above, cut.below);
    });
    var bearing = {};
    boards.forEach(function (mesh) {
      var piece = whole(mesh.userData.piece, step);
      bearing[piece] = true;
      mesh.position.copy(offset(sides(piece)));
    });
    loose.forEach(function (piece) {
      var list = sides(piece), kept = bounds(list), shift = offset(list);
      var faint = bearing[piece] ? 0.32 : 0.14;
      pieces.add(wood(log, 0x8a6a45, faint, planes(kept, shift), shift));
      kept.forEach(function (k) {
        pieces.add(wood(k.cut.strip, 0xc9a66b, 0.4 * faint, planes(kept, shift, k), shift));
      });
    });
    scene.add(pieces);
    var cut = data.cuts[step - 1];
    document.getElementById('step-words').textContent =
      cut ? 'Cut ' + cut.n + ', setup ' + cut.setup + ': ' + cut.words : 'Not sawn yet';
    draw();
  }

  var turn = -2.05, rise = 0.42, far = 1;
  function draw() {
    var width = canvas.clientWidth, height = canvas.clientHeight;
    renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
    renderer.setSize(width, height, false);
    camera.aspect = width / height;
    var half = Math.tan(camera.fov * Math.PI / 360);
    // However it is turned, the nearer end stays within the picture.
    var need = Math.max((0.5 * data.length + radius) / Math.sin(Math.atan(half * camera.aspect)),
      2.6 * radius / half);
    var distance = far * need;
    var centre = new THREE.Vector3(data.length / 2, 0, 0);
    camera.position.copy(centre)
      .addScaledVector(along, distance * Math.cos(turn) * Math.cos(rise))
      .addScaledVector(left, distance * Math.sin(turn) * Math.cos(rise))
      .addScaledVector(up, distance * Math.sin(rise));
    camera.lookAt(centre);
    lamp.position.copy(camera.position);
    camera.updateProjectionMatrix();
    renderer.render(scene, camera);
  }

  var slider = document.getElementById('step');
  function go(step) {
    slider.value = Math.max(0, Math.min(data.cuts.length, step));
    saw(Number(slider.value));
  }
  slider.addEventListener('input', function () { saw(Number(slider.value)); });
  document.getElementById('back').addEventListener('click', function () { go(Number(slider.value) - 1); });
  document.getElementById('on').addEventListener('click', function () { go(Number(slider.value) + 1); });

  var marked = null;
  function pick(x, y) {
    var area = canvas.getBoundingClientRect(), ray = new THREE.Raycaster();
    ray.setFromCamera({ x: (x - area.left) / area.width * 2 - 1, y: 1 - (y - area.top) / area.height * 2 }, camera);
    var hit = ray.intersectObjects(boards)[0];
    if (marked) marked.material.emissive.setHex(0);
    marked = hit ? hit.object : null;
    if (marked) marked.material.emissive.setHex(0x555500);
    document.getElementById('picked').textContent = marked ? marked.userData.words : 'No board there.';
    draw();
  }

  var fingers = {}, moved = 0, spread = 0;
  function gap2() {
    var at = Object.keys(fingers).map(function (k) { return fingers[k]; });
    return at.length < 2 ? 0 : Math.hypot(at[0].x - at[1].x, at[0].y - at[1].y);
  }
  canvas.addEventListener('pointerdown', function (event) {
    canvas.setPointerCapture(event.pointerId);
    fingers[event.pointerId] = { x: event.clientX, y: event.clientY };
    moved = 0;
    spread = gap2();
  });
  canvas.addEventListener('pointermove', function (event) {
    var before = fingers[event.pointerId];
    if (!before) return;
    var dx = event.clientX - before.x, dy = event.clientY - before.y;
    fingers[event.pointerId] = { x: event.clientX, y: event.clientY };
    moved += Math.abs(dx) + Math.abs(dy);
    if (Object.keys(fingers).length > 1) {
      var now = gap2();
      if (spread > 0 && now > 0) far = Math.max(0.2, Math.min(3, far * spread / now));
      spread = now;
    } else {
      turn -= dx * 0.008;
      rise = Math.max(-1.5, Math.min(1.5, rise + dy * 0.008));
    }
    draw();
  });
  function lift(event) {
    if (fingers[event.pointerId] && moved < 6 && event.type === 'pointerup') pick(event.clientX, event.clientY);
    delete fingers[event.pointerId];
    spread = gap2();
  }
  canvas.addEventListener('pointerup', lift);
  canvas.addEventListener('pointercancel', lift);
  canvas.addEventListener('wheel', function (event) {
    event.preventDefault();
    far = Math.max(0.2, Math.min(3, far * (event.deltaY > 0 ? 1.1 : 0.9)));
    draw();
  }, { passive: false });
  canvas.addEventListener('keydown', function (event) {
    var steps = { ArrowLeft: [0.1, 0], ArrowRight: [-0.1, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] }[event.key];
    if (!steps) return;
    event.preventDefault();
    turn += steps[0];
    rise = Math.max(-1.5, Math.min(1.5, rise + steps[1]));
    draw();
  });
  window.addEventListener('resize', draw);
  saw(0);
})();
)script";

}  // namespace kerfwright::sheet
