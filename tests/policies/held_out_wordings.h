#pragma once

#include <array>

#include "policies/wordings.h"

namespace dryrig::testing {

/// Manners of speaking that the reader of sentences has not learnt from. Invented for this project.
inline constexpr std::array kHeldOut{
    Wording{Wish::kCloser, R"(This deserves a bigger picture than that.
I would get a lot nearer before the next cut.
Can you get any closer without hitting my hand?
Let me have the tip of it as large as you can.
They will want to count the threads, so go in.
In with the lens, this crack is thinner than a hair.
Fill the view with the clasp for a moment.
Nothing but the eye of the needle now.
You are too far off to see the burr, come nearer.
Zoom, please, on the little notch.)"},
    Wording{Wish::kCloser, R"(Make the seam larger for those at the back.
Press your lens against it, nearly.
It is tiny, so show it really big.
I want a very tight view of the drop.
Closer than that, I do not bite.
Bring it up close, with every scratch.
We have to see the fibres here.
Get your nose down to this joint.
Push in on my thumbnail.
Take a good close look at the groove.)"},
    Wording{Wish::kWider, R"(I would like to see the entire place again.
Let us have the whole workbench in one picture.
Out again, until the tray is in as well.
Pull out so that we get our bearings.
Everything that we used, in a single view.
Show where all the pots stand.
Back away from me a little.
Could we have all of the tools in view?
Now from farther off, please.
More room around it would be nice.)"},
    Wording{Wish::kWider, R"(Open out until both lamps are in.
From the other end of the room, so to speak.
Let us see it with everything around it.
Include what lies left and right of it.
Take all of that in.
A broader view, with the shelf.
Give the picture more space.
Both halves in the same picture, please.
One last look at the full table.
I want to see the lot from back there.)"},
    Wording{Wish::kAbove, R"(This is easier to understand from straight above.
Get up over it and look down.
You have to look down into the cup.
Could the camera go over the wheel?
Seen from the top it is a star.
Up to the ceiling with you, and look down.
The way a hawk sees a mouse, please.
Right over the middle, looking down.
Lean right over the tray for this.
From on top you see both rows.)"},
    Wording{Wish::kAbove, R"(Hover above the page while I fold.
Rise over my shoulder until you see the inside.
Come over the top of the jar.
A view from overhead makes it plain.
Let us have the plan of it, seen from above.
Straight down on the ring, please.
Look over the rim and down inside.
Show its top from above.)"},
    Wording{Wish::kLevel, R"(Now sink to the level of the plank.
Could you get as low as the plate?
Let us look at its profile.
Look at it square from the front.
With the camera at the height of my hands, please.
Sideways on, so that the curve shows.
Get low and look along the plank.
Eye level with the mug would be best.
Down to the edge, as low as you can.
From bench height you see daylight under it.)"},
    Wording{Wish::kLevel, R"(Show me the side of it, flat on.
Look straight along the ruler.
Level with the rim, or you miss the gap.
Put your eye where the table top is.
Crouch until the edge is a line.
From the front, at its own height.
Meet its eye.
Drop to the height of the wood.)"},
    Wording{Wish::kNormal, R"(And back to where you were.
The normal picture again, please.
Return to the view we had before.
Good, now as usual again.
Back to the ordinary view, thanks.
You may go back to the usual place.)"},
    Wording{Wish::kNothing, R"(We begin with a strip of leather.
This brush was a present.
Dip it once and let it drip.
Twist the two ends together.
The second coat goes on tomorrow.
Do you hear how dull it sounds?
Good evening to all of you.
I hope you had something to eat.
The thin side points to the left.
Push the dowel in until it stops.
Hold on tight.
Screw it down tight.
The tighter you wind it, the stronger it gets.
It should be larger than the lid.
Nearly done.
Get the big bowl.
Fill it to the top.
Over and over again, that is all practice is.
The top one goes to the bottom.
Down here it is always cold.)"},
    Wording{Wish::kNothing, R"(My eye is not what it was.
Front and back get the same oil.
Lay it flat on its side.
It is the height of summer.
Put all the screws in one bowl.
All right.
The whole family helps at harvest.
Everything in its own time.
Rooms like this are hard to heat.
Step by step.
Back in those days we had no power.
Wide boards move more than narrow ones.
A distance of two fingers.
See to it that it stays wet.
You can see I was not born yesterday.
Watch out, it is hot.
Look for the softest piece.
Show some respect to old tools.
The camera does not mind, but I do.
Normally it takes three coats.
Wait until it is as hard as wood.
It is nearer to four than to three.
Small things first.
A hair more glue.)"},
    Wording{Wish::kNothing, R"(Forget the third one.
Not the long one, the short one.
Oh, the blue one, I meant.
One for you, one for me.
Third, and last, the wax.
Has anybody seen my pencil?
It smells of pine.
Leave it alone for an hour.
This is where most people give up.
And there it sits.
Let it go cold.
Come to think of it, I never asked him.
Go slowly.
Move your feet apart.
Take your time.
A plane is only as good as its iron.
Bring it to the boil.
Raise the blade by a hair.
Lower the saw gently.
Cover it with a cloth.
Up and down, never sideways.
Get up early if you want the light.
Turn to the window.
It came out well.)"},
};

}  // namespace dryrig::testing
