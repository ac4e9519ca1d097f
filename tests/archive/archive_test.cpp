#include "kerfwright/archive/archive.hpp"

#include <algorithm>
#include <barrier>
#include <filesystem>
#include <thread>

#include "error_of.hpp"
#include "kept.hpp"

namespace kerfwright {
namespace {

using kept::Form;
using kept::log_of;

std::vector<std::string> names(const std::vector<KeptLog>& logs) {
  std::vector<std::string> all;
  for (const KeptLog& log : logs) all.push_back(log.card.name);
  return all;
}

TEST(Archive, GivesBackEveryByteAfterItWasClosed) {
  const std::string place = kept::fresh_place();
  NewLog log = kept::planned_log("crooked one");
  log.card = {"crooked one", "cherry", "north slope", "2023-11", 31.5, "two\nlines"};
  kept::made(place).add(log, false);
  const Archive archive = Archive::open(place, Archive::Access::existing);
  const KeptLog back = archive.log("crooked one");
  EXPECT_EQ(back.card, log.card);
  EXPECT_EQ(back.plans, 1);
  ASSERT_EQ(archive.files(back).size(), log.files.size());
  for (const KeptFile& file : log.files) EXPECT_EQ(archive.file(back, file.name), file.bytes);
  EXPECT_TRUE(archive.check().empty());
}

TEST(Archive, IsMadeByManyAtOnce) {
  // Whoever comes later may look while the first has made half of it. Of five at once one did so in
  // one time of three.
  constexpr int many = 5;
  const std::string place = kept::fresh_place();
  for (int time = 0; time < 40; ++time) {
    const std::string file = place + std::to_string(time);
    std::barrier start(many);
    std::vector<std::string> refused(many);
    std::vector<std::thread> makers;
    for (std::string& sentence : refused) {
      makers.emplace_back([&] {
        start.arrive_and_wait();
        try {
          kept::made(file);
        } catch (const UserError& error) {
          sentence = error.what();
        }
      });
    }
    for (std::thread& maker : makers) maker.join();
    for (const std::string& sentence : refused) ASSERT_EQ(sentence, "") << "time " << time;
    for (const char* beside : {"", "-wal", "-shm"}) std::filesystem::remove(file + beside);
  }
}

TEST(Archive, KeepsAPlanOnceUnderTheNextNumber) {
  Archive archive = kept::made(kept::fresh_place());
  const NewLog log = kept::planned_log("log");
  archive.add(log, false);
  const KeptLog row = archive.log("log");
  EXPECT_EQ(archive.keep(row, "plan", "json", log.files[1].bytes), "plan-1.json");
  SawPlan other = plan_from_json(log.files[1].bytes, "plan");
  other.totals.hours += 1;
  EXPECT_EQ(archive.keep(row, "plan", "json", plan_to_json(other)), "plan-2.json");
  EXPECT_EQ(archive.file(row, "plan-2.json"), plan_to_json(other));
  EXPECT_EQ(archive.log("log").plans, 2);
  EXPECT_EQ(archive.find({}).front().plans, 2);
}

TEST(Archive, RefusesANameTwiceAndKeepsTheFirst) {
  Archive archive = kept::made(kept::fresh_place());
  archive.add(kept::new_log("log", log_of({})), false);
  const auto error = error_of(
      [&] { archive.add(kept::new_log("log", log_of({.length = 900, .radius = 90})), true); });
  EXPECT_EQ(error.fault(), Fault::name_exists);
  EXPECT_DOUBLE_EQ(archive.log("log").sizes.length, 2000);
}

TEST(Archive, NoticesTheSameShapeAndTheSameScan) {
  Archive archive = kept::made(kept::fresh_place());
  LogShape first = log_of({});
  first.source.sha256 = std::string(64, 'a');
  archive.add(kept::new_log("first", first), false);
  const auto same = error_of([&] { archive.add(kept::new_log("second", first), false); });
  EXPECT_EQ(same.fault(), Fault::kept_before);
  EXPECT_NE(std::string(same.what()).find("'first'"), std::string::npos);
  LogShape refitted = log_of({.length = 800, .radius = 90});  // so that only the scan is the same
  refitted.source.sha256 = first.source.sha256;
  EXPECT_EQ(error_of([&] { archive.add(kept::new_log("third", refitted), false); }).fault(),
            Fault::kept_before);
  archive.add(kept::new_log("second", first), true);
  EXPECT_EQ(names(archive.find({})), (std::vector<std::string>{"first", "second"}));
}

TEST(Archive, AsksWhetherALogScannedAgainIsTheSame) {
  Archive archive = kept::made(kept::fresh_place());
  archive.add(kept::new_log("first", log_of({.noise = 1})), false);
  for (const bool reversed : {false, true}) {
    const LogShape again =
        log_of({.length = 2003, .turn = 2.345, .reversed = reversed, .noise = 2});
    const auto error = error_of([&] { archive.add(kept::new_log("again", again), false); });
    EXPECT_EQ(error.fault(), Fault::kept_before) << error.what();
  }
  // As long and as thick, but bowed by half as much again.
  archive.add(kept::new_log("sister", log_of({.bow = 45, .noise = 3})), false);
  EXPECT_EQ(archive.find({}).size(), 2U);
}

TEST(Archive, FindsByEveryCondition) {
  Archive archive = kept::made(kept::fresh_place());
  const auto add = [&](const std::string& name, const std::string& species, const std::string& note,
                       const Form& form) {
    NewLog log = kept::new_log(name, log_of(form));
    log.card.species = species;
    log.card.note = note;
    archive.add(log, false);
  };
  add("long", "Oak", "from the lower yard", {.length = 4000, .radius = 200, .bow = 10});
  add("bowed", "cherry", "a burl, 100%_sure", {.length = 2500, .radius = 150, .bow = 90});
  add("short", "oak, red", "burl at the butt", {.length = 800, .radius = 120, .bow = 5});
  const auto found = [&](const LogQuery& query) { return names(archive.find(query)); };
  using Names = std::vector<std::string>;
  LogQuery query;
  query.species = "OAK";
  EXPECT_EQ(found(query), (Names{"long", "short"}));
  query = {};
  query.text = "BURL butt";
  EXPECT_EQ(found(query), (Names{"short"}));
  query.text = "100%_s";
  EXPECT_EQ(found(query), (Names{"bowed"}));
  query.text = "1__%";  // no wild cards
  EXPECT_EQ(found(query), Names{});
  query = {};
  query.min_length = 800;
  query.max_length = 2500;
  EXPECT_EQ(found(query), (Names{"bowed", "short"}));
  query = {};
  query.min_sweep = 50;
  EXPECT_EQ(found(query), (Names{"bowed"}));
  query = {};
  query.max_diameter = 260;
  EXPECT_EQ(found(query), (Names{"short"}));
  query = {};
  query.min_volume = 0.2;
  EXPECT_EQ(found(query), (Names{"long"}));
  query = {};
  query.gives = PieceSize{50, 150, 2400};
  EXPECT_EQ(found(query), (Names{"bowed", "long"}));
  query = {};
  query.order = LogOrder::volume;
  EXPECT_EQ(found(query), (Names{"short", "bowed", "long"}));
  query.descending = true;
  EXPECT_EQ(found(query), (Names{"long", "bowed", "short"}));
}

TEST(Archive, TakesSqlCsvAndXmlForText) {
  Archive archive = kept::made(kept::fresh_place());
  const std::vector<std::string> texts = {"'; DROP TABLE logs; --",
                                          "a,b;\"c\"",
                                          "<b>&amp;</b>",
                                          "=1+1",
                                          "%_\\",
                                          "../../etc",
                                          "\u00e9\u4e2d"};
  for (std::size_t i = 0; i < texts.size(); ++i) {
    NewLog log = kept::new_log(texts[i], log_of({.length = 1000.0 + 100.0 * double(i)}));
    log.card.species = log.card.place = log.card.note = texts[i];
    archive.add(log, false);
  }
  for (const std::string& text : texts) {
    const LogCard card = archive.log(text).card;
    EXPECT_EQ(card.note, text);
    LogQuery query;
    query.species = text;
    EXPECT_EQ(names(archive.find(query)), std::vector<std::string>{text});
  }
  EXPECT_TRUE(archive.check().empty());
}

TEST(Archive, RefusesCardsThatMakeNoSense) {
  const auto refused = [](LogCard card) {
    return error_of([&] { checked(card, "log.ply"); }).fault() == Fault::usage;
  };
  EXPECT_EQ(checked({}, "folder/cherry.ply").name, "cherry");
  EXPECT_TRUE(refused({"two\nlines", "", "", "", {}, ""}));
  EXPECT_TRUE(refused({"\x1b[31m", "", "", "", {}, ""}));
  EXPECT_TRUE(refused({"\xff", "", "", "", {}, ""}));
  EXPECT_TRUE(refused({" a", "", "", "", {}, ""}));
  EXPECT_TRUE(refused({std::string(201, 'a'), "", "", "", {}, ""}));
  EXPECT_TRUE(refused({"a", "", "", "11/2023", {}, ""}));
  EXPECT_TRUE(refused({"a", "", "", "2023-13", {}, ""}));
  EXPECT_TRUE(refused({"a", "", "", "", -1.0, ""}));
  EXPECT_EQ(checked({"a", "", "", "2023-12-31", 300.0, "\n"}, "").felled, "2023-12-31");
}

TEST(Archive, KeepsWhatIsRemovedUntilTheBinIsEmptied) {
  Archive archive = kept::made(kept::fresh_place());
  archive.add(kept::new_log("log", log_of({})), false);
  archive.remove(archive.log("log"));
  EXPECT_EQ(error_of([&] { archive.log("log"); }).fault(), Fault::not_in_archive);
  LogQuery bin;
  bin.binned = true;
  EXPECT_EQ(names(archive.find(bin)), std::vector<std::string>{"log"});
  archive.take_back("log");
  EXPECT_EQ(archive.find({}).size(), 1U);
  archive.remove(archive.log("log"));
  // The name and the log are free again, and then the old one cannot come back.
  archive.add(kept::new_log("log", log_of({})), false);
  EXPECT_EQ(error_of([&] { archive.take_back("log"); }).fault(), Fault::name_exists);
  EXPECT_EQ(archive.empty_bin(), 1);
  EXPECT_EQ(error_of([&] { archive.take_back("log"); }).fault(), Fault::not_in_archive);
  EXPECT_EQ(archive.find({}).size(), 1U);
  EXPECT_TRUE(archive.check().empty());
}

TEST(Archive, WritesAnotherCardButNoNameTwice) {
  Archive archive = kept::made(kept::fresh_place());
  archive.add(kept::new_log("one", log_of({})), false);
  archive.add(kept::new_log("two", log_of({.length = 900, .radius = 90})), false);
  const LogCard card = {"three", "oak", "yard", "2020", 12.0, "dry by now"};
  archive.change(archive.log("one"), card);
  EXPECT_EQ(archive.log("three").card, card);
  EXPECT_EQ(error_of([&] { archive.change(archive.log("two"), card); }).fault(),
            Fault::name_exists);
  EXPECT_EQ(names(archive.find({})), (std::vector<std::string>{"three", "two"}));
  EXPECT_TRUE(archive.check().empty());
}

TEST(Archive, SaysWhichNamesComeNear) {
  Archive archive = kept::made(kept::fresh_place());
  archive.add(kept::new_log("crooked cherry", log_of({})), false);
  const auto error = error_of([&] { archive.log("crooked chery"); });
  EXPECT_NE(std::string(error.what()).find("did you mean 'crooked cherry'"), std::string::npos);
}

}  // namespace
}  // namespace kerfwright
