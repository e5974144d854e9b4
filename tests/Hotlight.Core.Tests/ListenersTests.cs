namespace Hotlight.Core.Tests;

public sealed class ListenersTests
{
    [Fact]
    public void Tell_ReachesEveryListener_PastOneThatIsBeingLeft()
    {
        List<string> told = [];
        Action<string> all = word => told.Add("first " + word);
        all += _ => throw new ObjectDisposedException("page");
        all += word => told.Add("last " + word);
        Listeners.Tell(all, listener => listener("news"));
        Assert.Equal(["first news", "last news"], told);
        Listeners.Tell<Action<string>>(null, listener => listener("news"));
        Assert.Equal(2, told.Count);
    }

    [Fact]
    public void Tell_FaultOfAListener_IsNotHidden()
    {
        Action faulty = () => throw new FormatException("a fault of the listener");
        Assert.Throws<FormatException>(() => Listeners.Tell(faulty, listener => listener()));
    }
}
