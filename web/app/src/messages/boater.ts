/**
 * What the boater reads on the screens of the card and the receipt, beside the engine's own texts. It is there in every language of the
 * boaters: a message missing in one of them does not compile.
 */
const en = {
  'boater.card': 'For the boater',
  'boater.language': 'Language',
  'boater.found': 'What we found',
  'boater.now': 'What to do now',
  'boater.why': 'Why',
  'boater.home': 'At home',
  'boater.turn': 'Back to the steward',
  'boater.receipt': 'Your receipt',
  'boater.keep': 'Take a photo of this code. Any ramp of the programme can read it.',
  'boater.promise':
    'It says what was looked at and when. It does not promise that nothing is aboard, and it never shortens the next look.',
  'boater.code': 'Code in letters',
  'boater.until': 'May launch from: {at}',
} as const;
type Words = Readonly<Record<keyof typeof en, string>>;
const es: Words = {
  'boater.card': 'Para el navegante',
  'boater.language': 'Idioma',
  'boater.found': 'Lo que encontramos',
  'boater.now': 'Qué hacer ahora',
  'boater.why': 'Por qué',
  'boater.home': 'En casa',
  'boater.turn': 'Volver al inspector',
  'boater.receipt': 'Su recibo',
  'boater.keep': 'Tome una foto de este código. Cualquier rampa del programa puede leerlo.',
  'boater.promise':
    'Dice qué se revisó y cuándo. No promete que no quede nada a bordo y nunca acorta la próxima revisión.',
  'boater.code': 'Código en letras',
  'boater.until': 'Puede botar desde: {at}',
};
const fr: Words = {
  'boater.card': 'Pour le plaisancier',
  'boater.language': 'Langue',
  'boater.found': 'Ce que nous avons trouvé',
  'boater.now': 'Que faire maintenant',
  'boater.why': 'Pourquoi',
  'boater.home': 'À la maison',
  'boater.turn': 'Retour à l’agent',
  'boater.receipt': 'Votre reçu',
  'boater.keep': 'Prenez ce code en photo. Chaque rampe du programme peut le lire.',
  'boater.promise':
    'Il dit ce qui a été vérifié et quand. Il ne promet pas qu’il ne reste rien à bord et n’abrège jamais la prochaine visite.',
  'boater.code': 'Code en lettres',
  'boater.until': 'Mise à l’eau possible dès : {at}',
};
export const boater = { en, es, fr };
