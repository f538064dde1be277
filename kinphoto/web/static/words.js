// All that scripts say, in one place. `${…}` is what they fill in. The server sends this file in the language of the pages.

export const WORDS = {
  // On every page
  noAnswer: "kinphoto does not answer. Is it still running?",
  noAnswerTyped: "kinphoto does not answer. Is it still running? What you typed is still here.",
  saved: "Saved.",
  elsewhere: "Updated: something was changed elsewhere.",
  signedOut: "You are signed out. Nothing was saved; what you typed is still here.",
  later: "Not now",

  // Looking closely
  picture: "The picture: plus and minus zoom, 0 shows the whole, R turns the view, arrows move it",
  zoomIn: "Zoom in (+)",
  zoomOut: "Zoom out (−)",
  whole: "Whole",
  wholePicture: "Whole picture (0)",
  turn: "Turn",
  turnView: "Turn the view (R)",

  // Filling the screen
  looking: "Looking",
  previous: "Previous",
  next: "Next",
  turnOver: "Turn over",
  turnBack: "Turn back",
  who: "Who",
  slowly: "Go on slowly",
  stop: "Stop",
  itsPage: "Its page",
  close: "Close",
  numbered: (number, count) => `${number} of ${count}`,
  theBack: "The back",
  noBack: "There is no scan of its back",
  notNamed: "Not named yet",
  noOther: "There are no others to go on to",

  // Naming faces
  whoIsThis: "Who is this?",
  face: (number) => `Face ${number}`,
  newFace: "A new face",
  tapFace: "Tap a face, or drag a frame over it.",
  dragFrame: "Drag a frame over the face, or move it: 1 to 9 to a part of the picture, arrows from there (with Shift: larger or smaller). Enter keeps it, Escape cancels.",
  nextFace: "Tap the next face. When all have a frame, press the button again.",
  noName: "no name",
  addSomebody: "add somebody who is not in the tree",
  nobodyCalled: (name) => `Nobody is called “${name}”. To add somebody new, choose the offer below.`,
  allNamed: "Saved. Everybody here has a name now.",
  allNamedKeys: "Saved. Everybody here has a name now. F frames another face, → goes to the next photograph.",
  allNamedKeysCovered: "Saved. Everybody here has a name now. F frames another face, D shows the date, → goes to the next photograph.",

  // Choosing photographs, and the table
  choose: "Choose photographs",
  doneChoosing: "Done choosing",
  chosen: (count) => `${count} chosen`,
  press: "Press photographs to choose them; with Shift all in between.",
  noFrames: "There is no frame on any of these faces yet.",
  inOrder: "In this order now.",

  // Cutting apart, the scanner, recording
  print: (number) => `Print ${number}`,
  noMicrophone: "There is no microphone.",
  noPermission: "The browser may not use the microphone. Allow it, or choose a file.",
  recording: (time) => `Recording, ${time}`,
  recordAgain: "Record again",
  recorded: "What you recorded",
};
