#include "kerfwright/saw/watch.hpp"

#include <gtest/gtest.h>

namespace kerfwright {
namespace {

/// A clock that a test turns.
struct Clock {
  double now = 0.0;  ///< share of the time that is gone
  int hurried = 0;
  Watch watch() {
    Watch watch;
    watch.gone = [this] { return now; };
    watch.stop = [this] { return now >= 1.0; };
    watch.hurried = [this] { ++hurried; };
    return watch;
  }
};

TEST(Watch, GivesAShareOfTheTimeThatIsLeft) {
  Clock clock;
  clock.now = 0.2;
  const Watch half = clock.watch().within(0.5);  // until 0.6
  const Watch less = half.within(0.25);          // until 0.3
  EXPECT_DOUBLE_EQ(half.gone(), 0.0);
  clock.now = 0.29;
  EXPECT_FALSE(less.stopped());
  EXPECT_EQ(clock.hurried, 0);
  clock.now = 0.31;
  EXPECT_TRUE(less.stopped());
  EXPECT_GE(clock.hurried, 1);
  EXPECT_FALSE(half.stopped());
  EXPECT_NEAR(half.gone(), 0.275, 1e-12);
  clock.now = 0.601;
  EXPECT_TRUE(half.stopped());
  EXPECT_FALSE(clock.watch().stopped());
  EXPECT_TRUE(half.within(0.5).stopped());
}

TEST(Watch, StopsAPartWhereTheWholeIsStopped) {
  bool stop = false;
  Watch watch;
  watch.stop = [&] { return stop; };
  EXPECT_FALSE(watch.within(0.0).stopped());  // no end of time
  watch.gone = [] { return 0.0; };
  const Watch part = watch.within(0.5);
  EXPECT_FALSE(part.stopped());
  stop = true;
  EXPECT_TRUE(part.stopped());
}

}  // namespace
}  // namespace kerfwright
