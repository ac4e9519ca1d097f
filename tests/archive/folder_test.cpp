#include "kerfwright/archive/folder.hpp"

#include <fstream>

#include "error_of.hpp"
#include "kept.hpp"

namespace kerfwright {
namespace {

namespace fs = std::filesystem;

/// A log that was exported, and the folder.
struct Exported {
  std::string place = kept::fresh_place();
  std::string folder = (fs::path(place).parent_path() / "out").string();
  NewLog log = kept::planned_log("log");

  Exported() {
    log.card = {"log", "cherry", "a, \"place\"", "2023", 30.5, "x\n<y>"};
    Archive archive = kept::made(place);
    archive.add(log, false);
    export_log(archive, archive.log("log"), folder);
  }
  std::string path(const std::string& name) const { return (fs::path(folder) / name).string(); }
  /// log.json with a text in another's place.
  void change_card(const std::string& from, const std::string& to) const {
    std::string text = read_file(path("log.json"));
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos);
    write_file(path("log.json"), text.replace(at, from.size(), to));
  }
  Fault refusal() const {
    return error_of([this] { read_log_folder(folder); }).fault();
  }
};

TEST(LogFolder, ComesBackByteForByte) {
  const Exported out;
  Archive other = kept::made(out.place + ".other");
  other.add(read_log_folder(out.folder), false);
  const KeptLog back = other.log("log");
  EXPECT_EQ(back.card, out.log.card);
  for (const KeptFile& file : out.log.files) {
    EXPECT_EQ(other.file(back, file.name), file.bytes);
    EXPECT_EQ(read_file(out.path(file.name)), file.bytes);
  }
  // Exported once more, everything is the same, the times too.
  export_log(other, back, out.folder + "-again");
  for (const auto& entry : fs::directory_iterator(out.folder)) {
    const std::string name = entry.path().filename().string();
    EXPECT_EQ(read_file(out.folder + "-again/" + name), read_file(out.path(name))) << name;
  }
}

TEST(LogFolder, IsNeverWrittenOverAnother) {
  const Exported out;
  const Archive archive = Archive::open(out.place, Archive::Access::existing);
  const std::string card = read_file(out.path("log.json"));
  EXPECT_EQ(error_of([&] { export_log(archive, archive.log("log"), out.folder); }).fault(),
            Fault::cannot_write);
  EXPECT_EQ(read_file(out.path("log.json")), card);
}

TEST(LogFolder, LeadsNowhereElse) {
  // Each of these files is there and is the very plan that was exported: only its name speaks
  // against it.
  const std::string outside =
      (fs::path(kept::fresh_place()).parent_path() / "plan-1.json").string();
  for (const std::string& name :
       {std::string("../plan-1.json"), outside, std::string("./plan-1.json"),
        std::string("plan-1.JSON"), std::string(".plan-1.json"), std::string("plan-01.json"),
        std::string("plan-1.json.sh"), std::string("inner/plan-1.json")}) {
    const Exported out;
    fs::create_directory(out.path("inner"));
    const fs::path target = fs::path(out.folder) / name;
    if (!fs::exists(target)) fs::copy_file(out.path("plan-1.json"), target);
    ASSERT_EQ(read_file(target.string()), out.log.files[1].bytes);
    out.change_card("\"plan-1.json\"", "\"" + name + "\"");
    EXPECT_EQ(out.refusal(), Fault::bad_archive) << name;
  }
}

TEST(LogFolder, FollowsNoLinks) {
  const Exported out;
  const std::string elsewhere = out.place + ".plan";
  fs::rename(out.path("plan-1.json"), elsewhere);
  fs::create_symlink(elsewhere, out.path("plan-1.json"));
  EXPECT_EQ(out.refusal(), Fault::bad_archive);
  fs::remove(out.path("plan-1.json"));
  EXPECT_EQ(out.refusal(), Fault::bad_archive);  // nor does it do without
  fs::create_hard_link(elsewhere, out.path("plan-1.json"));
  EXPECT_EQ(read_log_folder(out.folder).files.size(), out.log.files.size());
}

TEST(LogFolder, MustBeWhatWasExported) {
  {
    const Exported out;
    write_file(out.path("picture-1.jpg"), "another");
    EXPECT_EQ(out.refusal(), Fault::bad_archive);
  }
  {
    const Exported out;
    out.change_card("\"version\": 1", "\"version\": 2");
    EXPECT_EQ(out.refusal(), Fault::bad_archive);
  }
  {
    const Exported out;
    out.change_card("\"name\": \"log\"", "\"name\": \"\\u001b[2J\"");
    EXPECT_EQ(out.refusal(), Fault::bad_archive);
  }
  {
    const Exported out;
    out.change_card("\"files\"", "\"fils\"");
    EXPECT_EQ(out.refusal(), Fault::bad_archive);
  }
}

TEST(LogFolder, WithAPlanOfAnotherShapeIsNotTakenIn) {
  Exported out;
  SawPlan plan = plan_from_json(out.log.files[1].bytes, "plan");
  const std::string own = sha256_hex(out.log.files[1].bytes);
  plan.shape_sha256 = std::string(64, 'b');
  write_file(out.path("plan-1.json"), plan_to_json(plan));
  out.change_card(own, sha256_hex(plan_to_json(plan)));
  Archive other = kept::made(out.place + ".other");
  EXPECT_EQ(error_of([&] { other.add(read_log_folder(out.folder), false); }).fault(),
            Fault::bad_plan);
  EXPECT_TRUE(other.find({}).empty());
}

}  // namespace
}  // namespace kerfwright
